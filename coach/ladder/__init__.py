"""The ladder: scores as plain numbers become the next rung."""
