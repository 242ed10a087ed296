"""Picked, not slurred: what tells it, at its limits, and how often it is said wrongly."""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import Bend, HeardNote, Sound
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.listening.saying import say
from coach.listening.scores import PassResult
from coach.listening.slurring import picked_instead
from coach.listening.strokes import PassStrokes, strokes_of
from coach.listening.told import playing_record, tell

SLURS = 8  # a measure each


@pytest.fixture(scope="module")
def study(solo: Callable[..., Arrangement]) -> Arrangement:
    """Eight measures: a pick, a slide from it, and two more picks; a hammer-on at the end of each."""
    slide = {"technique": "slide", "from_fret": 2}
    hammer = {"technique": "hammer-on", "from_fret": 0}
    measure = [("0", 4, 2), ("1", 4, 4, slide), ("2", 1, 0), ("5/2", 2, 0), ("3", 3, 0), ("7/2", 3, 2, hammer)]
    return solo(*[measure] * SLURS)


def heard(
    study: Arrangement,
    *,
    bends: Sequence[int] = (),
    slide: Callable[[int], int] = lambda _: 60,
    hammer: Callable[[int], int] = lambda _: 60,
    pick: Callable[[], int] = lambda: 80,
) -> PassResult:
    """A pass: slides come by a bend in the measures of ``bends``, else by a note-on of their velocity."""
    plan = PassPlan(study, 60.0)
    sounds: list[Sound] = []
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            seconds = plan.tempo_map.seconds(start + pluck.at)
            if pluck.technique == "slide" and measure.number in bends:
                sounds.append(Bend(seconds, 200.0, pluck.string, pluck.string))
                continue
            slurs = {"slide": slide, "hammer-on": hammer}
            velocity = pick() if pluck.technique == "pick" else slurs[pluck.technique](measure.number)
            sounds.append(HeardNote(seconds, pluck.pitch, velocity, pluck.string, pluck.string))
    listener = Listener(plan)
    for seq, sound in enumerate(sounds, 1):
        listener.take(replace(sound, seq=seq))
    listener.finish()
    assert listener.result is not None
    assert all(note.played for note in listener.result.notes)
    return listener.result


def picked(*results: PassResult) -> list[str]:
    return [stroke.pluck.id for stroke in picked_instead([strokes_of(result) for result in results])]


def passes(*results: PassResult) -> list[PassStrokes]:
    return [strokes_of(result) for result in results]


@pytest.mark.parametrize(("velocity", "found"), [(71, []), (72, ["m8e2"]), (73, ["m8e2"])])
def test_a_slide_without_its_bend_is_picked_when_it_is_as_loud_as_nine_tenths_of_a_pick(
    velocity: int, found: list[str], study: Arrangement
) -> None:
    assert picked(heard(study, bends=range(1, 8), slide=lambda _: velocity)) == found


@pytest.mark.parametrize(("bends", "found"), [(2, 0), (3, 0), (4, 4), (5, 3)])
def test_bends_tell_it_from_three_on_and_where_half_of_the_slurs_come_by_them(
    bends: int, found: int, study: Arrangement
) -> None:
    assert len(picked(heard(study, bends=range(1, bends + 1), slide=lambda _: 80))) == found


def test_three_bends_are_enough_in_a_short_solo(solo: Callable[..., Arrangement], study: Arrangement) -> None:
    short = replace(study, measures=study.measures[:4])

    assert picked(heard(short, bends=(1, 2, 3), slide=lambda _: 80)) == ["m4e2"]
    assert picked(heard(replace(study, measures=study.measures[:3]), bends=(1, 2), slide=lambda _: 80)) == []


def test_passes_before_add_evidence(study: Arrangement) -> None:
    short = replace(study, measures=study.measures[:2])
    before, now = heard(short, bends=(1, 2)), heard(short, bends=(1,), slide=lambda _: 80)

    assert picked(now) == []
    assert picked(before, now) == ["m2e2"]
    assert picked(now, before) == []


def test_bends_of_slides_say_nothing_of_hammer_ons(study: Arrangement) -> None:
    assert picked(heard(study, bends=range(1, 9), hammer=lambda _: 80)) == []


def test_a_slide_by_a_bend_that_is_sounded_by_a_note_on_too_is_no_pick(study: Arrangement) -> None:
    plan = PassPlan(study, 60.0)
    sounds: list[Sound] = []
    for measure, start in plan.starts:
        for pluck in measure.plucks:
            seconds = plan.tempo_map.seconds(start + pluck.at)
            if pluck.technique == "slide":
                sounds.append(Bend(seconds - 0.02, 200.0, pluck.string, pluck.string))
            sounds.append(HeardNote(seconds, pluck.pitch, 80, pluck.string, pluck.string))
    listener = Listener(plan)
    for seq, sound in enumerate(sounds, 1):
        listener.take(replace(sound, seq=seq))
    listener.finish()
    assert listener.result is not None

    assert all(note.bent for note in listener.result.notes if note.pluck.id.endswith("e2"))
    assert picked(listener.result) == []


def varied(rng: random.Random, middle: float, spread: float) -> Callable[..., int]:
    return lambda *_: max(1, min(127, round(rng.gauss(middle, spread))))


def test_velocity_alone_tells_a_pick_among_slurs_that_are_softer(study: Arrangement) -> None:
    rng = random.Random(1)
    soft = varied(rng, 45, 3)
    result = heard(study, pick=varied(rng, 80, 3), slide=soft, hammer=lambda number: 90 if number == 5 else soft())

    assert picked(result) == ["m5e6"]


def test_velocity_alone_tells_nothing_where_slurs_are_as_loud_as_picks_or_all_are_alike(study: Arrangement) -> None:
    rng = random.Random(1)
    as_loud = varied(rng, 80, 4)

    assert picked(heard(study, pick=varied(rng, 80, 4), slide=as_loud, hammer=as_loud)) == []
    assert picked(heard(study, slide=lambda _: 40, hammer=lambda number: 80 if number == 5 else 40)) == []


def test_slurs_are_seldom_called_picked_that_were_not(study: Arrangement) -> None:
    # Velocities as the virtual player sends them (slurs at 0.8 of the pick), softer ones, and ones that vary much.
    wrong = slurs = 0
    for seed in range(60):
        rng = random.Random(seed)
        share, spread = [(0.8, 4.0), (0.65, 6.0), (0.5, 10.0)][seed % 3]
        soft = varied(rng, 80 * share, spread)
        result = heard(study, bends=range(1, 7), pick=varied(rng, 80, spread), slide=soft, hammer=soft)
        wrong += len(picked(result))
        slurs += 2 * SLURS

    assert wrong <= slurs * 0.005


def test_it_is_told_in_the_playing_and_said_with_its_measures(study: Arrangement) -> None:
    once = heard(study, bends=range(1, 8), slide=lambda _: 80)
    twice = heard(study, bends=(1, 2, 4, 5, 6, 7), slide=lambda _: 80)

    assert playing_record(tell([once])[0].playing)["picked_not_slurred"] == ["m8e2"]
    assert playing_record(tell([heard(study, bends=range(1, 9))])[0].playing)["picked_not_slurred"] == []
    assert all(note.verdict == "on time" for note in once.notes)
    one, two = say(passes(once)), say(passes(twice))
    assert (
        "A slur is picked, not slurred, in measure 8: one pick, and the left hand sounds the second note.",
        (8,),
    ) in [(saying.text, saying.measures) for saying in one]
    assert ("2 of 16 slurs are picked, not slurred, in measures 3 and 8: let the left hand sound them.", (3, 8)) in [
        (saying.text, saying.measures) for saying in two
    ]
