"""Explaining a solo: for each measure one or two sentences on what was done with the melody and why.

Any arrangement can be explained, a teacher's own, an edited or a mixed one too: nothing but the finished solo is read.
A measure that repeats another says so and no more.

File form
    JSON, format ``explain/1``: ``format``, ``digest`` (of the arrangement), and ``measures``, each with its ``number``,
    its ``sentences`` (``text``, and ``plucks``: the ids that it is about), its ``difficulty`` (the index, rounded to
    two places) and ``largest``, the part of the difficulty that adds most besides the notes themselves. A measure
    that repeats another has ``same_as`` behind its number.
"""

from __future__ import annotations

import json
from dataclasses import dataclass

from coach.arranging.arrangement import Arrangement
from coach.arranging.difficulty import difficulty
from coach.arranging.files import digest
from coach.arranging.lick_table import Row
from coach.arranging.sayings import Saying, extras, opening
from coach.arranging.scenes import Scene, scenes

__all__ = ["FORMAT", "MeasureExplained", "Sentence", "explain", "explain_json"]

FORMAT = "explain/1"
_MOST_EXTRAS = 2


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence of the trade, and the ids of the plucks that it is about (none for what is not played)."""

    text: str
    plucks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class MeasureExplained:
    """A measure explained.

    Attributes:
        number: of the measure.
        same_as: the measure that it repeats, else None.
        sentences: one or two.
        difficulty: the index of :mod:`coach.arranging.difficulty`.
        largest: the part that adds most to it besides the notes themselves.
    """

    number: int
    same_as: int | None
    sentences: tuple[Sentence, ...]
    difficulty: float
    largest: str


def explain(arrangement: Arrangement, licks: tuple[Row, ...] = ()) -> tuple[MeasureExplained, ...]:
    """Explain every measure of a solo, in order."""
    hard = {each.number: each.parts for each in difficulty(arrangement).measures}
    return tuple(
        MeasureExplained(
            scene.measure.number,
            scene.measure.same_as,
            _sentences(scene),
            round(hard[scene.measure.number].index, 2),
            hard[scene.measure.number].largest,
        )
        for scene in scenes(arrangement, licks)
    )


def explain_json(arrangement: Arrangement, licks: tuple[Row, ...] = ()) -> bytes:
    """The explanation of a solo as format ``explain/1``, UTF-8; ``licks`` are a teacher's own that it may hold."""
    rows = [
        {
            "number": each.number,
            **({} if each.same_as is None else {"same_as": each.same_as}),
            "sentences": [{"text": sentence.text, "plucks": list(sentence.plucks)} for sentence in each.sentences],
            "difficulty": each.difficulty,
            "largest": each.largest,
        }
        for each in explain(arrangement, licks)
    ]
    body = {"format": FORMAT, "digest": digest(arrangement), "measures": rows}
    return (json.dumps(body, ensure_ascii=False) + "\n").encode()


def _sentences(scene: Scene) -> tuple[Sentence, ...]:
    if scene.measure.same_as is not None:
        return (Sentence(f"As measure {scene.measure.same_as}."),)
    more = extras(scene)[:_MOST_EXTRAS]
    together = "; ".join(
        saying.words if not k else f"{saying.words[:1].lower()}{saying.words[1:]}" for k, saying in enumerate(more)
    )
    first = opening(scene)
    second = Saying(together, tuple(dict.fromkeys(pluck for saying in more for pluck in saying.plucks)))
    return tuple(Sentence(f"{each.words}.", each.plucks) for each in (first, second) if each.words)
