"""Verdicts beside the truth of simulated passes: few, at fixed seeds; ``bench/measure_verdicts.py`` has many."""

from __future__ import annotations

from functools import cache

import pytest
from demo_solos import demo_solos
from verdict_trials import Tally, Trial, run_trial

from coach.arranging.arrangement import TIERS, Tier


@cache
def agreement(kind: str, tempo: float, tiers: tuple[Tier, ...] = TIERS) -> Tally:
    """Trials of a kind at a tempo: a tune in 4/4 and one in 3/4."""
    total = Tally()
    for number, tune in enumerate(("mill-lane", "lamps-on-the-water")):
        for tier in tiers:
            total.add(run_trial(Trial(demo_solos(tune)[tier], tempo, kind, number)))
    return total


@pytest.mark.parametrize("tempo", [60.0, 160.0])
@pytest.mark.parametrize(
    ("kind", "aim"),
    [("spread", 0.995), ("heavy tails", 0.995), ("artefacts", 0.99), ("everything", 0.99), ("shifts", 0.97)],
)
def test_verdicts_agree_with_the_truth(kind: str, tempo: float, aim: float) -> None:
    found = agreement(kind, tempo)

    assert found.share >= aim, found.causes
    assert found.notes > (100 if kind == "shifts" else 500)
    assert kind == "shifts" or found.seen == 0


# Faster, a sixteenth to a slur is shorter than twice the least window: see the table of the bench for the others.
@pytest.mark.parametrize("tempo", [240.0, 320.0])
def test_at_the_fastest_tempos_too_where_nothing_is_slurred(tempo: float) -> None:
    found = agreement("spread", tempo, ("beginner", "intermediate"))

    assert found.share >= 0.995, found.causes


def test_the_player_errs_in_every_way_and_the_instrument_mishears() -> None:
    """The agreement would say little of a player who does not err."""
    found = agreement("everything", 160.0)

    assert set(found.truths) == {"missed", "wrong note", "early", "late", "on time"}
    assert found.truths["on time"] < 0.95 * found.notes
    assert found.artefacts > 50


def test_what_the_instrument_adds_is_seldom_told_as_a_note_too_many() -> None:
    found = Tally()
    for tempo in (60.0, 160.0):
        found.add(agreement("artefacts", tempo))

    assert found.artefacts > 100
    assert sum(found.extras.values()) <= 0.12 * found.artefacts, found.extras
