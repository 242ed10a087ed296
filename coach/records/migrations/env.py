"""Run by alembic for every step; the store gives it the connection."""

from __future__ import annotations

from alembic import context

from coach.records.studio_tables import metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    # SQLite changes a table by copying it.
    render_as_batch=True,
)
context.run_migrations()
