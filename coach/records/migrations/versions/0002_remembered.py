"""What a pass was for, its day and its mixed measures; repeats of tunes; curves by tune and tier; sittings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

_CHECKS = {
    "tempo": "tempo > 0",
    "judged": "judged in ('heard', 'marked', 'freely')",
    "kind": "kind in ('whole', 'part', 'spot', 'warm-up', 'known', 'jam')",
}


def upgrade() -> None:
    """Bring the first tables here."""
    _passes()
    op.add_column("tunes", sa.Column("repeats", sa.Text))
    op.execute("UPDATE tunes SET repeats = ''")
    with op.batch_alter_table("tunes") as batch:
        batch.alter_column("repeats", nullable=False)
    if op.get_bind().dialect.name == "sqlite":
        with op.batch_alter_table("measures", recreate="always", table_kwargs={"sqlite_with_rowid": False}):
            pass  # copied as it is, to where rows have no number of their own
    # Curves follow from passes, and those of a digest do not say of which tier they are.
    op.drop_table("curves")
    op.create_table(
        "curves",
        sa.Column("player", sa.String(40), nullable=False),
        sa.Column("tune", sa.String(80), nullable=False),
        sa.Column("tier", sa.String(16), nullable=False),
        sa.Column("measure", sa.Integer, nullable=False),
        sa.Column("passes", sa.Integer, nullable=False),
        sa.Column("updated", sa.String(32), nullable=False),
        sa.Column("weights", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("player", "tune", "tier", "measure", name="pk_curves"),
        sa.ForeignKeyConstraint(["player"], ["players.id"], name="fk_curves_player", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["tune"], ["tunes.id"], name="fk_curves_tune"),
    )
    op.create_table(
        "sittings",
        sa.Column("player", sa.String(40), nullable=False),
        sa.Column("began", sa.String(32), nullable=False),
        sa.Column("planned", sa.Float),
        sa.Column("minutes", sa.Float, nullable=False),
        sa.Column("tempo", sa.Float),
        sa.PrimaryKeyConstraint("player", "began", name="pk_sittings"),
        sa.ForeignKeyConstraint(["player"], ["players.id"], name="fk_sittings_player", ondelete="CASCADE"),
    )


def _passes() -> None:
    # What is added last may be empty until the old rows are filled in.
    op.add_column("passes", sa.Column("mix", sa.Text))
    op.add_column("passes", sa.Column("kind", sa.String(8)))
    op.add_column("passes", sa.Column("day", sa.String(10)))
    op.execute("UPDATE passes SET mix = '', kind = 'whole', day = substr(began, 1, 10)")
    _tell_parts()
    with op.batch_alter_table("passes") as batch:
        for name in ("mix", "kind", "day"):
            batch.alter_column(name, nullable=False)
        for name, check in _CHECKS.items():
            batch.create_check_constraint(name, check)
        for name in ("tempo", "judged"):  # the first step named them twice over
            batch.drop_constraint(op.f(f"ck_passes_ck_passes_{name}"), type_="check")
    op.create_index("ix_passes_player_day", "passes", ["player", "day", "tune", "seconds"])


def _tell_parts() -> None:
    """A pass through fewer measures than another of the same solo was through a part of it."""
    passes = sa.table("passes", *map(sa.column, ("digest", "first", "last", "kind")))
    connection = op.get_bind()
    ends = sa.select(passes.c.digest, sa.func.min(passes.c.first), sa.func.max(passes.c.last))
    for digest, first, last in connection.execute(ends.group_by(passes.c.digest)).all():
        is_part = sa.or_(passes.c.first > first, passes.c.last < last)
        connection.execute(passes.update().where(passes.c.digest == digest, is_part).values(kind="part"))
