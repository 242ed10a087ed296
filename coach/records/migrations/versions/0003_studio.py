"""Studios: their people and how these come in, what teachers set and pin; habits found in passes."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_ROLES = "role in ('teacher', 'student')"


def upgrade() -> None:
    """Add the tables of studios."""
    _people()
    _ways_in()
    _teaching()
    op.create_table(
        "findings",
        sa.Column("pass", sa.Integer, nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.Column("cost", sa.Float, nullable=False),
        sa.PrimaryKeyConstraint("pass", "place", name="pk_findings"),
        sa.ForeignKeyConstraint(["pass"], ["passes.id"], name="fk_findings_pass", ondelete="CASCADE"),
        sqlite_with_rowid=False,
    )


def _people() -> None:
    op.create_table(
        "studios",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("began", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_studios"),
    )
    op.create_table(
        "people",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("studio", sa.String(40), nullable=False),
        sa.Column("role", sa.String(8), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("folded", sa.Text, nullable=False),
        sa.Column("began", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_people"),
        sa.ForeignKeyConstraint(["studio"], ["studios.id"], name="fk_people_studio", ondelete="CASCADE"),
        sa.UniqueConstraint("studio", "folded", name="uq_people_studio"),
        sa.CheckConstraint(_ROLES, name=op.f("ck_people_role")),
    )
    op.create_table(
        "consents",
        sa.Column("person", sa.String(40), nullable=False),
        sa.Column("version", sa.String(20), nullable=False),
        sa.Column("given", sa.String(32), nullable=False),
        sa.Column("guardian", sa.Boolean, nullable=False),
        sa.PrimaryKeyConstraint("person", "version", name="pk_consents"),
        _of_person("consents"),
    )


def _ways_in() -> None:
    op.create_table(
        "invitations",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("studio", sa.String(40), nullable=False),
        sa.Column("role", sa.String(8), nullable=False),
        sa.Column("person", sa.String(40)),
        sa.Column("by", sa.String(40)),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("made", sa.String(32), nullable=False),
        sa.Column("expires", sa.String(32), nullable=False),
        sa.Column("used", sa.String(32)),
        sa.PrimaryKeyConstraint("id", name="pk_invitations"),
        sa.ForeignKeyConstraint(["studio"], ["studios.id"], name="fk_invitations_studio", ondelete="CASCADE"),
        _of_person("invitations"),
        _of_person("invitations", "by"),
        sa.UniqueConstraint("digest", name="uq_invitations_digest"),
        sa.CheckConstraint(_ROLES, name=op.f("ck_invitations_role")),
    )
    op.create_table(
        "devices",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("person", sa.String(40), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("began", sa.String(32), nullable=False),
        sa.Column("seen", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_devices"),
        _of_person("devices"),
        sa.UniqueConstraint("digest", name="uq_devices_digest"),
    )
    op.create_index("ix_devices_person", "devices", ["person"])
    op.create_table(
        "passwords",
        sa.Column("person", sa.String(40), nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("changed", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("person", name="pk_passwords"),
        _of_person("passwords"),
    )
    op.create_table(
        "passkeys",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("person", sa.String(40), nullable=False),
        sa.Column("credential", sa.LargeBinary, nullable=False),
        sa.Column("public_key", sa.LargeBinary, nullable=False),
        sa.Column("count", sa.BigInteger, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("added", sa.String(32), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_passkeys"),
        _of_person("passkeys"),
        sa.UniqueConstraint("credential", name="uq_passkeys_credential"),
    )
    op.create_index("ix_passkeys_person", "passkeys", ["person"])


def _teaching() -> None:
    op.create_table(
        "assignments",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("student", sa.String(40), nullable=False),
        sa.Column("by", sa.String(40)),
        sa.Column("made", sa.String(32), nullable=False),
        sa.Column("tune", sa.String(80), nullable=False),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("tier", sa.String(16), nullable=False),
        sa.Column("mix", sa.Text, nullable=False),
        sa.Column("goal", sa.Float, nullable=False),
        sa.Column("until", sa.String(10)),
        sa.Column("policy", sa.String(16)),
        sa.Column("step", sa.Float),
        sa.Column("clean_needed", sa.Integer),
        sa.Column("tolerance_ms", sa.Float),
        sa.Column("cap", sa.Float),
        sa.Column("cap_until", sa.String(10)),
        sa.Column("words", sa.Text, nullable=False),
        sa.Column("ended", sa.String(32)),
        sa.PrimaryKeyConstraint("id", name="pk_assignments"),
        _of_person("assignments", "student"),
        _of_person("assignments", "by", "SET NULL"),
    )
    op.create_index("ix_assignments_student", "assignments", ["student"])
    op.create_table(
        "pins",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("student", sa.String(40), nullable=False),
        sa.Column("by", sa.String(40)),
        sa.Column("made", sa.String(32), nullable=False),
        sa.Column("tune", sa.String(80), nullable=False),
        sa.Column("measure", sa.Integer, nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.Column("seen", sa.String(32)),
        sa.PrimaryKeyConstraint("id", name="pk_pins"),
        _of_person("pins", "student"),
        _of_person("pins", "by", "SET NULL"),
    )
    op.create_index("ix_pins_student_tune", "pins", ["student", "tune"])


def _of_person(table: str, column: str = "person", gone: str = "CASCADE") -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint([column], ["people.id"], name=f"fk_{table}_{column}", ondelete=gone)
