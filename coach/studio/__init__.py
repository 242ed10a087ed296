"""Teachers, students, and who may do what."""
