"""Takes: what was heard, kept in files and replayed."""
