"""What the next pass will be: settings, and solos that are waited for."""

from collections.abc import Callable
from typing import Any

import pytest

from coach.arranging.arrangement import Tier
from coach.arranging.edits import Edits, Lock
from coach.errors import ArrangeError, CoachError, InputError
from coach.service.choice import Choice
from coach.service.jobs import Solo, jam_of, mixed_of
from coach.service.pieces import Piece
from coach.service.protocol import Rung, Settings
from coach.takes.sessions import Instrument
from coach.tunes.demo import demo_tune
from coach.tunes.tune import Tune

Done = Callable[[Any], None]


class Desk:
    """A choice, and what it has asked for."""

    def __init__(self) -> None:
        self.fetched: list[tuple[str, Done]] = []
        self.made: list[tuple[Piece, Done]] = []
        self.arrived: list[CoachError | None] = []
        self.edits: dict[str, Edits] = {}
        self.asked: list[tuple[Tier, Edits | None]] = []
        self.choice = Choice(
            self._fetch,
            lambda piece, done: self.made.append((piece, done)),
            self.edits.get,
            self.arrived.append,
        )

    def _fetch(self, tune: str, first: Tier, edits: Edits | None, done: Done) -> None:
        self.fetched.append((tune, done))
        self.asked.append((first, edits))

    @property
    def piece(self) -> Piece:
        return self.choice.chosen.piece

    def change(self, **fields: Any) -> None:
        self.choice.change(Settings(**fields))


@pytest.fixture
def desk() -> Desk:
    return Desk()


@pytest.fixture
def lane(desk: Desk, solos: Any) -> Desk:
    """With a tune of four measures, in all tiers."""
    desk.change(tune="lane")
    desk.fetched.pop()[1](solos)
    desk.arrived.clear()
    return desk


@pytest.fixture(scope="module")
def mixed(tune: Tune) -> Solo:
    return mixed_of(tune, "beginner", (2, 3))


@pytest.fixture(scope="module")
def run(solos: Any) -> Solo:
    return jam_of(solos["beginner"])


def rung(**fields: Any) -> Rung:
    return Rung(**{"tier": "beginner", "tempo": 72.0, "first": 1, "last": 4, "why": "Because.", **fields})


# ------------------------------------------------------------------------------------------ mixed solos


def test_a_mixed_solo_is_waited_for(lane: Desk, mixed: Solo) -> None:
    lane.change(mix=[3, 2, 3])

    assert (lane.choice.solo, lane.choice.is_awaited, lane.choice.waiting) == (None, True, "Writing the solo …")
    ((piece, done),) = lane.made
    assert piece == Piece("lane", "beginner", (2, 3))

    done(mixed)

    assert (lane.choice.solo, lane.choice.is_awaited, lane.choice.waiting) == (mixed, False, "")
    assert lane.arrived == [None]


def test_a_mixed_solo_is_made_once_while_it_is_kept(lane: Desk, mixed: Solo) -> None:
    lane.change(mix=[2, 3])
    lane.change(tempo=80.0)
    lane.made[0][1](mixed)
    lane.change(mix=[])
    assert lane.choice.solo is lane.choice.solos["beginner"]

    lane.change(mix=[2, 3])

    assert lane.choice.solo is mixed
    assert len(lane.made) == 1


def test_who_does_not_wait_for_it_is_not_told_of_it_later(lane: Desk, mixed: Solo) -> None:
    lane.change(mix=[2, 3])
    lane.change(mix=[])
    lane.made[0][1](mixed)

    assert lane.choice.solo is lane.choice.solos["beginner"]
    assert (lane.choice.waiting, lane.arrived) == ("", [])


def test_solos_of_a_tune_that_is_not_chosen_any_more_are_passed_over(desk: Desk, solos: Any) -> None:
    desk.change(tune="lane")
    desk.change(tune="other")
    (_, lane), (_, other) = desk.fetched
    lane(solos)
    assert (desk.choice.solos, desk.choice.is_awaited, desk.arrived) == ({}, True, [])

    other(CoachError("no solo can be made of it"))
    assert (desk.choice.waiting, desk.choice.is_awaited) == ("no solo can be made of it.", False)
    assert len(desk.arrived) == 1


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"mix": [5]}, "Test Lane: there is no measure 5 as played; choose from 1 to 4."),
        ({"mix": [2], "tier": "advanced"}, "there is no solo of a tier behind the advanced one to mix in"),
    ],
)
def test_what_cannot_be_mixed_is_said_and_nothing_changes(lane: Desk, fields: Any, said: str) -> None:
    before = lane.choice.chosen
    with pytest.raises(InputError, match=said):
        lane.change(**fields)

    assert lane.choice.chosen == before
    assert not lane.made


def test_a_solo_mixed_in_all_its_measures_is_the_next_tiers(lane: Desk, solos: Any) -> None:
    lane.change(mix=[1, 2, 3, 4])

    assert lane.piece == Piece("lane", "intermediate")
    assert lane.choice.solo is solos["intermediate"]


def test_repeats_go_along(desk: Desk, solos_of: Any) -> None:
    desk.change(tune="barrow", mix=[1])
    desk.fetched.pop()[1](solos_of(demo_tune("turn-the-barrow")))

    assert desk.piece.mix == (1, 9)
    assert [piece.mix for piece, _ in desk.made] == [(1, 9)]


def test_another_tier_or_tune_is_not_mixed(lane: Desk) -> None:
    lane.change(mix=[2])
    lane.change(tier="intermediate")
    assert lane.piece == Piece("lane", "intermediate")

    lane.change(mix=[3])
    lane.change(tune="other")
    assert lane.piece == Piece("other", "intermediate")


def test_measures_that_the_solo_has_no_more_are_said_and_left_out_when_it_comes(desk: Desk, solos: Any) -> None:
    desk.change(tune="lane", mix=[2, 9], tempo=80.0, first=2, last=3)
    desk.fetched.pop()[1](solos)

    assert [str(error) for error in desk.arrived] == ["Test Lane: there is no measure 9 as played; choose from 1 to 4."]
    chosen = desk.choice.chosen
    assert (chosen.mix, chosen.tempo, chosen.first, chosen.last) == ((), 80.0, 2, 3)
    assert desk.choice.solo is solos["beginner"]


def test_what_was_chosen_another_day_comes_back_as_far_as_it_is_to_be_had(lane: Desk) -> None:
    lane.choice.recall(Settings(tier="intermediate", mix=[2, 9], tempo=90.0, goal=150.0))

    chosen = lane.choice.chosen
    assert (chosen.tier, chosen.mix, chosen.tempo, chosen.goal) == ("intermediate", (), 90.0, 150.0)


@pytest.mark.parametrize(("fields", "kept"), [({"mix": [2, 3]}, ()), ({"mix": [2, 3], "jam": True}, (2, 3))])
def test_a_solo_that_cannot_be_made_leaves_the_rest_of_the_settings(lane: Desk, fields: Any, kept: Any) -> None:
    lane.change(tempo=80.0, **fields)
    lane.made.pop()[1](ArrangeError("no hand can join the tiers"))

    assert [str(error) for error in lane.arrived] == ["no hand can join the tiers."]
    chosen = lane.choice.chosen
    assert (chosen.mix, chosen.jam, chosen.tempo) == (kept, False, 80.0)
    assert lane.choice.is_awaited == bool(kept)  # of a jam run the mixed solo is left, and comes next
    assert lane.choice.use == "whole"


# ------------------------------------------------------------------------------------------ tier by tier, and edits


def test_the_tier_that_is_chosen_goes_first(desk: Desk) -> None:
    desk.change(tune="lane", tier="advanced")

    assert desk.asked == [("advanced", None)]


def test_what_is_written_is_shown_while_the_others_are_waited_for(desk: Desk, solos: Any) -> None:
    desk.change(tune="lane", first=2)
    done = desk.fetched.pop()[1]
    done({"beginner": solos["beginner"]}, more=True)

    choice = desk.choice
    assert (choice.solo, choice.is_awaited, choice.course) == (solos["beginner"], True, None)
    assert choice.waiting == "Writing the solos: beginner is there, intermediate and advanced …"
    desk.change(tier="advanced")
    assert choice.solo is None
    desk.change(mix=[1])  # which is looked at when all are there
    assert (desk.made, desk.arrived) == ([], [None])

    desk.change(tier="beginner", mix=[2])
    done(solos)
    assert (choice.solo, choice.is_awaited, choice.waiting) == (None, True, "Writing the solo …")
    assert [piece.mix for piece, _ in desk.made] == [(2,)]
    assert choice.course is not None


def test_a_tier_that_cannot_be_written_is_said_and_another_is_taken(desk: Desk, solos: Any) -> None:
    desk.change(tune="lane", tier="advanced")
    error = ArrangeError("no hand can play it")
    desk.fetched.pop()[1]({"beginner": solos["beginner"]}, lacking=error)

    assert desk.arrived == [error]
    assert (desk.choice.solo, desk.piece.tier, desk.choice.is_awaited) == (solos["beginner"], "beginner", False)


def test_edited_solos_take_the_place_of_those_that_are_there_all_at_once(lane: Desk, solos: Any) -> None:
    lane.change(first=2, last=3, bounce=60)
    edits = Edits("lane", (Lock("beginner", 2, ()),))
    lane.edits["lane"] = edits
    lane.choice.renew()
    assert lane.asked[-1] == ("beginner", edits)
    assert (lane.choice.solo, lane.choice.piece.edits) == (solos["beginner"], None)
    assert (lane.choice.is_awaited, lane.choice.course is None) == (True, False)

    other = solos | {"beginner": solos["advanced"]}
    done = lane.fetched.pop()[1]
    done({"beginner": other["beginner"]}, more=True)
    assert lane.choice.solo is solos["beginner"]
    done(other)

    chosen = lane.choice.chosen
    assert (lane.choice.solo, lane.choice.is_awaited) == (solos["advanced"], False)
    assert (chosen.first, chosen.last, chosen.bounce, lane.choice.piece.edits) == (2, 3, 60, edits)


def test_only_the_solos_that_were_asked_for_last_are_taken(lane: Desk, solos: Any) -> None:
    for number in (1, 2):
        lane.edits["lane"] = Edits("lane", (Lock("beginner", number, ()),))
        lane.choice.renew()
    (_, older), (_, newer) = lane.fetched
    older({"beginner": solos["advanced"]})
    assert lane.choice.solo is solos["beginner"]

    newer({"beginner": solos["intermediate"]})
    assert lane.choice.solo is solos["intermediate"]


def test_a_mixed_solo_that_was_impossible_may_be_possible_with_edits(lane: Desk, solos: Any) -> None:
    lane.choice.prepare(rung(mix=[2]))
    lane.made.pop()[1](ArrangeError("no hand can join the tiers"))
    assert not lane.choice.is_possible(rung(mix=[2]))

    lane.edits["lane"] = Edits("lane", (Lock("intermediate", 2, ()),))
    lane.choice.renew()
    lane.fetched.pop()[1](solos)

    assert lane.choice.is_possible(rung(mix=[2]))
    assert lane.choice.course is not None
    assert not lane.choice.course.apart


def test_a_known_tune_is_written_ahead_with_all_its_edits(lane: Desk) -> None:
    lane.edits["known"] = edits = Edits("known", (Lock("beginner", 2, ()), Lock("advanced", 2, ())))
    lane.choice.prepare(rung(tune="known", tier="advanced"))

    assert lane.asked[-1] == ("advanced", edits)


# ------------------------------------------------------------------------------------------ jam runs


def test_a_jam_run_goes_through_all_its_measures(lane: Desk, run: Solo, solos: Any) -> None:
    lane.change(first=2, last=3)
    lane.change(jam=True)
    lane.made.pop()[1](run)
    chosen = lane.choice.chosen
    assert (chosen.first, chosen.last, lane.choice.solo, lane.choice.use) == (None, None, run, "jam")

    lane.change(first=8, last=12)
    assert (lane.choice.chosen.first, lane.choice.chosen.last) == (8, 12)

    lane.change(jam=False)
    chosen = lane.choice.chosen
    assert (chosen.first, chosen.last, lane.choice.solo) == (None, None, solos["beginner"])


def test_a_tune_without_that_tier_has_its_jam_run_in_another(desk: Desk, solos: Any) -> None:
    desk.change(tune="lane", tier="advanced", jam=True)
    desk.fetched.pop()[1]({"beginner": solos["beginner"]})

    assert [piece for piece, _ in desk.made] == [Piece("lane", "beginner", jam=True)]


# ------------------------------------------------------------------------------------------ rungs


def test_a_rung_is_taken_with_all_that_it_says(lane: Desk, mixed: Solo) -> None:
    lane.change(free_time=True, first=1, last=2)
    lane.choice.take_rung(rung(use="spot", mix=[2, 3], first=2, last=3, solo=True, backing=False))
    lane.made.pop()[1](mixed)

    chosen = lane.choice.chosen
    assert (chosen.mix, chosen.first, chosen.last, chosen.tempo, chosen.free_time) == ((2, 3), 2, 3, 72.0, False)
    assert (chosen.with_solo, chosen.with_backing) == (True, False)
    assert (lane.choice.solo, lane.choice.use) == (mixed, "spot")


def test_a_jam_rung_is_the_whole_run(lane: Desk, run: Solo) -> None:
    lane.choice.take_rung(rung(use="jam"))
    lane.made.pop()[1](run)

    assert (lane.choice.chosen.jam, lane.choice.chosen.first, lane.choice.use) == (True, None, "jam")

    lane.choice.take_rung(rung(use="whole"))
    assert (lane.choice.chosen.jam, lane.choice.use) == (False, "whole")


def test_a_rung_of_another_tune_goes_there_and_the_next_one_comes_back(lane: Desk, solos: Any) -> None:
    lane.choice.take_rung(rung(use="warm-up", tune="forward-roll", first=1, last=9))
    assert (lane.choice.solo, lane.choice.is_awaited) == (None, True)
    lane.fetched.pop()[1]({"beginner": solos["beginner"]})
    assert (lane.piece.tune, lane.choice.at_hand, lane.choice.use) == ("forward-roll", "lane", "warm-up")
    assert lane.choice.course is not None
    assert lane.choice.course.tune == "forward-roll"

    lane.choice.take_rung(rung(tier="intermediate"))
    lane.fetched.pop()[1](solos)
    assert (lane.piece, lane.choice.at_hand) == (Piece("lane", "intermediate"), "lane")
    assert lane.arrived == [None, None]

    lane.change(tune="other")
    assert lane.choice.at_hand == "other"


def test_a_rung_is_for_what_it_was_offered_for_until_other_measures_are_chosen(lane: Desk) -> None:
    lane.choice.take_rung(rung(use="spot", first=2, last=3))
    lane.change(tempo=66.0, click_level=0.2)
    assert lane.choice.use == "spot"

    lane.change(last=4)
    assert lane.choice.use == "part"
    lane.change(whole=True)
    assert lane.choice.use == "whole"


def test_the_solo_of_a_rung_is_made_before_it_is_asked_for(lane: Desk, mixed: Solo) -> None:
    lane.choice.prepare(rung(mix=[2, 3]))
    assert (lane.piece.mix, lane.choice.is_awaited) == ((), False)
    lane.made[0][1](mixed)
    lane.choice.prepare(rung(mix=[2, 3]))
    lane.choice.prepare(rung(tier="intermediate"))
    lane.choice.take_rung(rung(mix=[2, 3]))

    assert lane.choice.solo is mixed
    assert len(lane.made) == 1
    assert not lane.arrived

    lane.choice.prepare(rung(tune="known"))
    assert [tune for tune, _ in lane.fetched] == ["known"]
    assert lane.piece.tune == "lane"


@pytest.mark.parametrize(
    ("error", "possible", "told"),
    [(ArrangeError("no hand can join the tiers"), False, [None]), (CoachError("the worker died"), True, [])],
)
def test_a_rung_whose_solo_cannot_be_made_is_known_before_it_is_taken(
    lane: Desk, error: CoachError, possible: bool, told: Any
) -> None:
    lane.choice.prepare(rung(mix=[2]))
    lane.made.pop()[1](error)

    assert lane.choice.is_possible(rung(mix=[2])) == possible
    assert lane.choice.is_possible(rung(mix=[3]))
    assert lane.arrived == told
    assert lane.choice.course is not None
    assert bool(lane.choice.course.apart) != possible


# ------------------------------------------------------------------------------------------ orders


def test_an_order_says_what_it_is_and_can_be_taken_again(lane: Desk, mixed: Solo, solos: Any) -> None:
    lane.choice.take_rung(rung(use="spot", mix=[2, 3], first=2, last=3))
    lane.made.pop()[1](mixed)
    instrument = Instrument("banjo", None, lane.choice.chosen.latency(None), calibrated=True)
    order = lane.choice.order(1, mixed, instrument, lean_ms=0.0, sounder=None, send=None)
    assert (order.piece, order.use) == (Piece("lane", "beginner", (2, 3)), "spot")

    lane.change(tune="other", tempo=100.0)
    lane.choice.take_again(order)
    assert lane.choice.is_awaited
    lane.fetched.pop()[1](solos)

    chosen = lane.choice.chosen
    assert (chosen.piece, chosen.first, chosen.last, chosen.tempo) == (order.piece, 2, 3, 72.0)
    assert (lane.choice.solo, lane.choice.use) == (mixed, "spot")


def test_the_solo_sounds_along_by_ear_and_the_accompaniment_can_be_put_aside(lane: Desk) -> None:
    def loud() -> tuple[float, float]:
        levels = lane.choice.chosen.levels
        return levels.solo, levels.backing

    assert loud() == (0.0, 0.5)
    lane.change(with_solo=True)
    assert loud() == (pytest.approx(0.4), 0.5)
    lane.change(solo_level=0.7)
    assert loud() == (pytest.approx(0.7), 0.5)
    lane.change(with_solo=False, with_backing=False)
    assert loud() == (pytest.approx(0.7), 0.0)


def test_measures_that_are_told_with_a_tune_are_of_that_tune(lane: Desk, solos: Any) -> None:
    lane.change(first=2, last=3)
    lane.change(tune="other", last=2)
    lane.fetched.pop()[1](solos)

    assert (lane.choice.chosen.first, lane.choice.chosen.last) == (None, 2)
