"""What the pictures of a player's progress are drawn from, as the page asks for it.

``GET /progress.json?session=NAME&tune=ID`` answers with the fields of :class:`~coach.records.progress.Progress`, by
their names and in their order, behind the name of the format::

    {"format": "progress/1", "player": "home", "tune": "mill-lane-1f3a9c20", "title": "Mill Lane", "goal": 120.0,
     "tunes": [{"id": "mill-lane-1f3a9c20", "title": "Mill Lane", "passes": 2, "minutes": 1.5, "last": "2026-03-01"}],
     "days": [{"day": "2026-03-01", "minutes": 1.5, "tunes": {"mill-lane-1f3a9c20": 1.5}}],
     "climb": [{"day": "2026-03-01", "tier": "beginner", "low": 60.0, "high": 72.0, "fastest_clean": null,
                "passes": 2}],
     "passes": [{"began": "2026-03-01T18:00:00Z", "tempo": 72.0, "tier": "beginner", "mix": [], "kind": "whole",
                 "judged": "heard", "clean": false, "whole": true, "measures": {"1": true, "2": false}}],
     "measures": [1, 2],
     "ready": [{"measure": 1, "tier": "beginner", "tempo": 74.1, "low": 61.0, "high": 88.2, "passes": 2}]}

Without ``tune`` it is about the tune at which the player was last. A player who has played nothing yet gets empty
lists, an empty ``tune`` and null for the ``goal``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Annotated

import msgspec
from msgspec import Meta, Struct

from coach.errors import InputError
from coach.service.from_page import SessionId

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from coach.records.progress import Progress

__all__ = ["FORMAT", "ProgressAsked", "answer", "progress_json", "read_question"]

FORMAT = "progress/1"


class ProgressAsked(Struct, frozen=True):
    """What a page asks for: whose progress, and with which tune (empty for the one at which the player was last)."""

    session: SessionId = "home"
    tune: Annotated[str, Meta(max_length=80)] = ""


def read_question(query: Mapping[str, str]) -> ProgressAsked:
    """What the query of an address asks for.

    Raises:
        InputError: when it cannot be meant.
    """
    try:
        return msgspec.convert(dict(query), ProgressAsked)
    except msgspec.ValidationError as error:
        raise InputError(f"this cannot be asked for: {error}", cure="load the page anew") from error


def answer(connection: Connection, asked: ProgressAsked) -> bytes:
    """The progress that was asked for, as JSON; it takes its time, so ask off the event loop."""
    from coach.records.progress import progress_of

    return progress_json(progress_of(connection, asked.session, asked.tune or None, datetime.now(UTC)))


def progress_json(progress: Progress) -> bytes:
    """A player's progress as JSON."""
    named = {field.name: getattr(progress, field.name) for field in fields(progress)}
    return msgspec.json.encode({"format": FORMAT, **named})
