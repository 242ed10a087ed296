"""Players, tunes, passes with their measures, curves, ladders and settings."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "players",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("began", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_players"),
    )
    op.create_table(
        "tunes",
        sa.Column("id", sa.String(80), nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_tunes"),
    )
    op.create_table(
        "passes",
        sa.Column("id", sa.Integer, nullable=False),
        sa.Column("player", sa.String(40), nullable=False),
        sa.Column("tune", sa.String(80), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("tier", sa.String(16), nullable=False),
        sa.Column("tempo", sa.Float, nullable=False),
        sa.Column("goal", sa.Float, nullable=False),
        sa.Column("first", sa.Integer, nullable=False),
        sa.Column("last", sa.Integer, nullable=False),
        sa.Column("began", sa.String(32), nullable=False),
        sa.Column("seconds", sa.Float, nullable=False),
        sa.Column("whole", sa.Boolean, nullable=False),
        sa.Column("clean", sa.Boolean, nullable=False),
        sa.Column("judged", sa.String(8), nullable=False),
        sa.Column("kept_going", sa.Boolean),
        sa.Column("folder", sa.String(80), nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("scoring", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_passes"),
        sa.ForeignKeyConstraint(["player"], ["players.id"], name="fk_passes_player", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["tune"], ["tunes.id"], name="fk_passes_tune"),
        sa.UniqueConstraint("folder", "number", name="uq_passes_folder"),
        sa.CheckConstraint("tempo > 0", name="ck_passes_tempo"),
        sa.CheckConstraint("judged in ('heard', 'marked', 'freely')", name="ck_passes_judged"),
    )
    op.create_index("ix_passes_player_began", "passes", ["player", "began"])
    op.create_index("ix_passes_player_tune", "passes", ["player", "tune", "began"])
    op.create_table(
        "measures",
        sa.Column("pass", sa.Integer, nullable=False),
        sa.Column("number", sa.Integer, nullable=False),
        sa.Column("expected", sa.Integer, nullable=False),
        sa.Column("played", sa.Integer, nullable=False),
        sa.Column("wrong", sa.Integer, nullable=False),
        sa.Column("extra", sa.Integer, nullable=False),
        sa.Column("off_time", sa.Integer, nullable=False),
        sa.Column("mean_offset_ms", sa.Float),
        sa.Column("clean", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("pass", "number", name="pk_measures"),
        sa.ForeignKeyConstraint(["pass"], ["passes.id"], name="fk_measures_pass", ondelete="CASCADE"),
    )
    op.create_table(
        "curves",
        sa.Column("player", sa.String(40), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("measure", sa.Integer, nullable=False),
        sa.Column("passes", sa.Integer, nullable=False),
        sa.Column("updated", sa.String(32), nullable=False),
        sa.Column("weights", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("player", "digest", "measure", name="pk_curves"),
        sa.ForeignKeyConstraint(["player"], ["players.id"], name="fk_curves_player", ondelete="CASCADE"),
    )
    op.create_table(
        "ladders",
        sa.Column("player", sa.String(40), nullable=False),
        sa.Column("tune", sa.String(80), nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("updated", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("player", "tune", name="pk_ladders"),
        sa.ForeignKeyConstraint(["player"], ["players.id"], name="fk_ladders_player", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(["tune"], ["tunes.id"], name="fk_ladders_tune"),
    )
    op.create_table(
        "settings",
        sa.Column("player", sa.String(40), nullable=False),
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("value", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("player", "name", name="pk_settings"),
        sa.ForeignKeyConstraint(["player"], ["players.id"], name="fk_settings_player", ondelete="CASCADE"),
    )
