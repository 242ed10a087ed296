"""The simulated player itself: each model does what it says, and the truth is what was done."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from statistics import correlation, fmean, pstdev

import pytest
from player_noise import (
    Drift,
    Extra,
    HandModel,
    HeavyTails,
    Jitter,
    Lead,
    Missed,
    Neck,
    OtherFret,
    OtherString,
    PickedAgain,
    Stroke,
    Stumble,
    Wander,
)
from player_pickup import (
    Artefact,
    Bleed,
    Delay,
    Glitch,
    LiftedFinger,
    OctaveGhost,
    Pickup,
    Retrigger,
    SoftDouble,
    Sympathetic,
)
from player_truth import true_verdicts
from simulated_pass import Performance, perform, wire_bytes
from simulated_player import Lapse, random_restart, strokes_due

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import Bend, HeardNote
from coach.listening.midi_bytes import MidiSplitter
from coach.listening.plan import PassPlan

MANY = 4000


@pytest.fixture
def plan(mixed: Arrangement) -> PassPlan:
    return PassPlan(mixed, 80.0, 1.0)


def running(count: int = MANY) -> list[Stroke]:
    """Strokes on string 3, a quarter of a second apart."""
    return [Stroke(None, 0.25 * n, 0.25 * n, 57, 3) for n in range(count)]


def delays(model: HandModel, neck: Neck) -> list[float]:
    return [stroke.seconds - stroke.meant for stroke in model.play(running(), random.Random(1), neck)]


@pytest.fixture
def neck(roll: Arrangement) -> Neck:
    return Neck(roll)


@pytest.mark.parametrize("model", [Jitter(0.015), HeavyTails(0.015)])
def test_jitter_has_the_spread_that_it_says_and_does_not_lean(model: HandModel, neck: Neck) -> None:
    found = delays(model, neck)

    assert pstdev(found) == pytest.approx(0.015, rel=0.15)
    assert abs(fmean(found)) < 0.001


# Beyond four standard deviations lie 0.006 % of a normal curve, and 0.6 % of Student's t with three degrees of freedom
# (computed: 2 * scipy.stats.t.sf(4 * sqrt(3), 3) = 0.0062).
def test_heavy_tails_are_heavy(neck: Neck) -> None:
    far = [sum(abs(each) > 0.060 for each in delays(model, neck)) / MANY for model in (Jitter(), HeavyTails())]

    assert far[0] < 0.001
    assert 0.003 < far[1] < 0.010


def test_a_wander_is_slow(neck: Neck) -> None:
    found = delays(Wander(0.006, memory=0.87), neck)

    assert pstdev(found) == pytest.approx(0.006, rel=0.15)
    assert correlation(found[:-1], found[1:]) == pytest.approx(0.87, abs=0.03)


def test_a_lead_is_steady_and_a_drift_even_about_the_middle(neck: Neck) -> None:
    assert delays(Lead(0.02), neck) == pytest.approx([-0.02] * MANY)
    drift = delays(Drift(0.02), neck)

    assert drift[0] == pytest.approx(-drift[-1])
    assert drift[0] - drift[-1] == pytest.approx(0.0002 * 0.25 * (MANY - 1))


@pytest.mark.parametrize(
    ("model", "slip", "share"),
    [
        (Missed(0.03), "missed", 0.03),
        (OtherString(0.02), "other string", 0.02),
        (OtherFret(0.02), "other fret", 0.02),
        (Extra(0.02), "extra", 0.02),
    ],
)
def test_slips_come_at_their_rates(model: HandModel, slip: str, share: float, neck: Neck) -> None:
    found = Counter(stroke.slip for stroke in model.play(running(), random.Random(2), neck))

    assert found[slip] / MANY == pytest.approx(share, rel=0.3)
    assert set(found) == {"", slip}


def test_a_caught_string_sounds_open_beside_the_right_one(neck: Neck) -> None:
    caught = [each for each in OtherString(0.5).play(running(99), random.Random(3), neck) if each.slip]

    assert {(each.string, each.pitch) for each in caught} == {(2, 59), (4, 50)}


def test_a_stumble_happens_once(neck: Neck) -> None:
    played = Stumble(2).play(running(99), random.Random(8), neck)
    touched = [n for n, each in enumerate(played) if each.slip]

    assert len(touched) == 2
    assert touched[1] == touched[0] + 1


def test_without_its_pick_a_slur_does_not_sound(plan: PassPlan) -> None:
    played = perform(plan, [Missed(1.0)], Pickup(), "x")

    assert not [message for message in played.sent if message.sound is not None]
    assert set(played.truth.values()) == {"missed"}


ADDED: list[tuple[Artefact, str, float]] = [
    (OctaveGhost(0.1), "octave ghost", 0.1),
    (SoftDouble(0.1), "soft double", 0.1),
    (Bleed(0.1), "bleed", 0.1),
    (Glitch(0.1), "glitch", 0.1),
    (Sympathetic(0.1), "sympathetic", 0.1),
    (LiftedFinger(0.1), "lifted finger", 0.1),
]


@pytest.mark.parametrize(("artefact", "name", "share"), ADDED)
def test_artefacts_come_at_their_rates_and_are_soft(artefact: Artefact, name: str, share: float, neck: Neck) -> None:
    found = list(artefact.sounds(running(2000), random.Random(4), neck))

    assert {sound.cause for sound in found} == {name}
    assert len(found) / 2000 == pytest.approx(share, rel=0.3)
    assert all(sound.velocity < 80 for sound in found)


def test_one_artefact_more_changes_nothing_in_another(plan: PassPlan) -> None:
    alone = perform(plan, [Jitter()], Pickup(artefacts=(OctaveGhost(0.3),)), "seed")
    both = perform(plan, [Jitter()], Pickup(artefacts=(Bleed(0.3), OctaveGhost(0.3))), "seed")

    def without_bleed(played: Performance) -> list[tuple[float, str]]:
        sounds = [message.sound for message in played.sent if message.sound is not None]
        return [(sound.seconds, sound.cause) for sound in sounds if sound.cause != "bleed"]

    assert without_bleed(alone) == without_bleed(both)
    assert len(both.sent) > len(alone.sent)


def test_the_same_seed_plays_the_same(plan: PassPlan) -> None:
    hands = [HeavyTails(), Missed(0.2), Extra(0.2)]

    assert perform(plan, hands, Pickup(), "a") == perform(plan, hands, Pickup(), "a")
    assert perform(plan, hands, Pickup(), "a") != perform(plan, hands, Pickup(), "b")


def heard(played: Performance, pickup: Pickup) -> list[HeardNote | Bend]:
    return [sound for sound, _ in played.sounds(pickup) if isinstance(sound, HeardNote | Bend)]


def test_a_latency_by_string_and_by_period_is_in_the_stamps(plan: PassPlan) -> None:
    pickup = Pickup(delay=Delay(by_string=((3, 10.0),), periods=2.0))
    played = perform(plan, [], pickup, "a")
    early = {(m.sound.string, m.sound.pitch): m.seconds - m.sound.seconds for m in played.sent if m.sound}

    # Two periods of D3, MIDI 50, at 440 * 2 ** (-19 / 12) = 146.83 Hz (equal temperament) are 13.6 ms.
    assert early[4, 50] == pytest.approx(0.01362, abs=1e-5)
    assert early[3, 55] == pytest.approx(0.010 + 2 / 195.998, abs=1e-5)


@pytest.mark.parametrize("bend_range", [2, 12])
def test_slurs_are_shown_by_bends_that_reach_the_target(bend_range: int, plan: PassPlan) -> None:
    pickup = Pickup(slurs="bend", bend_range=bend_range)
    sounds = heard(perform(plan, [], pickup, "a"), pickup)
    bends = [sound.cents for sound in sounds if isinstance(sound, Bend)]

    # The hammer-on from fret 2 to 3 is one semitone up; the pull-off from fret 2 to 0 two down.
    assert any(cents == pytest.approx(100, abs=3) for cents in bends)
    assert any(cents == pytest.approx(-200, abs=3) for cents in bends)


def test_a_bent_string_may_be_heard_again(plan: PassPlan) -> None:
    pickup = Pickup(slurs="bend", bend_range=12, retrigger=Retrigger(1.0))
    again = [m.sound for m in perform(plan, [], pickup, "a").sent if m.sound and m.sound.cause == "re-trigger"]

    assert len(again) == 6  # every slur of the pass
    assert {sound.bent is None for sound in again} == {True, False}


@pytest.mark.parametrize("note_off", ["held", "at once", "never"])
def test_notes_end_as_the_instrument_ends_them(note_off: str, plan: PassPlan) -> None:
    sent = perform(plan, [], Pickup(note_off=note_off), "a").sent
    ons = [m for m in sent if m.data[0] & 0xF0 == 0x90 and m.data[2]]
    offs = [m for m in sent if m.data[0] & 0xF0 == 0x80 or (m.data[0] & 0xF0 == 0x90 and not m.data[2])]

    assert len(ons) == sum(len(measure.plucks) for measure in plan.measures)
    assert len(offs) == (0 if note_off == "never" else len(ons))
    assert note_off == "never" or {m.data[0] & 0xF0 for m in offs} == {0x80, 0x90}


def test_on_one_channel_all_messages_have_it(plan: PassPlan) -> None:
    pickup = Pickup(channels=None, slurs="bend")

    assert {message.data[0] & 0x0F for message in perform(plan, [], pickup, "a").sent} == {0}


def test_over_the_wire_the_messages_are_the_same(plan: PassPlan) -> None:
    """With running status, clock bytes and active sensing in between, and portions that end within a message."""
    sent = perform(plan, [], Pickup(channels=None, slurs="bend", bend_range=12), "a").sent
    portions = wire_bytes(sent, random.Random(7))
    splitter = MidiSplitter()
    messages = [(seconds, message) for seconds, data in portions for message in splitter.feed(data)]
    carried = b"".join(data for _, data in portions)

    assert messages == [(message.seconds, message.data) for message in sent]
    assert {0xF8, 0xFE} <= set(carried)
    assert len(carried) - carried.count(0xF8) - carried.count(0xFE) < sum(len(message.data) for message in sent)


# The truth


def strokes(plan: PassPlan) -> dict[str, Stroke]:
    return {p.id: Stroke(p, s, s, p.pitch, p.string) for s, p in strokes_due(plan, random.Random(0), None)}


def test_the_truth_of_what_was_done(roll: Arrangement) -> None:
    plan = PassPlan(roll, 60.0, lean_ms=-20.0)  # half a second apart: on time within 80 ms, windows of 250 ms
    done = strokes(plan)
    changes: dict[str, dict[str, object]] = {
        "m1e1": {"seconds": done["m1e1"].seconds + 0.059},
        "m1e2": {"seconds": done["m1e2"].seconds + 0.061},
        "m1e3": {"seconds": done["m1e3"].seconds - 0.101},
        "m1e4": {"pitch": 63},
        "m1e5": {"string": 3},
        "m1e6": {"seconds": done["m1e6"].seconds + 0.251},
    }
    done |= {id_: replace(done[id_], **change) for id_, change in changes.items()}
    del done["m1e7"]
    truth, offsets = true_verdicts(plan, list(done.values()), tells_strings=True, shows_slurs=True)
    one_channel, _ = true_verdicts(plan, list(done.values()), tells_strings=False, shows_slurs=True)

    first = [truth[f"m1e{k}"] for k in range(1, 9)]
    assert first == ["on time", "late", "early", "wrong note", "other string", "missed", "missed", "on time"]
    assert one_channel["m1e5"] == "on time"
    assert offsets["m1e2"] == pytest.approx(0.061)


def test_in_truth_a_pinch_goes_by_its_melody_note_and_a_slur_is_not_timed(mixed: Arrangement) -> None:
    plan = PassPlan(mixed, 60.0)
    done = strokes(plan)
    # m1e8 to m1e10 are a pinch, strings 5, 3 and 1, its melody on string 3; m1e2 is a hammer-on.
    moved = {"m1e8": 0.11, "m1e9": 0.09, "m1e10": 0.02, "m1e2": 0.07}
    done |= {id_: replace(done[id_], seconds=done[id_].seconds + by) for id_, by in moved.items()}
    truth, _ = true_verdicts(plan, list(done.values()), tells_strings=True, shows_slurs=True)

    assert [truth[id_] for id_ in ("m1e8", "m1e9", "m1e10", "m1e2")] == ["late", "late", "on time", "on time"]


def test_without_shown_slurs_a_slur_goes_with_its_pick(mixed: Arrangement) -> None:
    plan = PassPlan(mixed, 60.0)
    done = strokes(plan)
    picked = [each for id_, each in done.items() if id_ not in ("m1e2", "m1e5", "m1e6")]
    shown, _ = true_verdicts(plan, picked, tells_strings=True, shows_slurs=True)
    never, _ = true_verdicts(plan, picked, tells_strings=True, shows_slurs=False)

    assert [shown[id_] for id_ in ("m1e2", "m1e5", "m1e6")] == ["missed"] * 3
    assert [never[id_] for id_ in ("m1e2", "m1e5", "m1e6")] == ["on time", "missed", "missed"]


def test_in_a_shift_the_truth_is_where_the_player_was(solo: Callable[..., Arrangement]) -> None:
    measure = [(f"{k}/2", string, 0) for k, string in enumerate((3, 2, 5, 1, 4, 2, 5, 1))]
    plan = PassPlan(solo(*[measure] * 8), 100.0)
    played = perform(plan, [], Pickup(), "a", Lapse("left out", 16, None, 8))

    assert [id_ for id_, verdict in played.truth.items() if verdict != "on time"] == [f"m3e{k}" for k in range(1, 9)]
    assert set(played.offsets.values()) == {0.0}


def test_a_restart_is_silent_and_then_goes_back(solo: Callable[..., Arrangement]) -> None:
    measure = [(f"{k}/2", string, 0) for k, string in enumerate((3, 2, 5, 1, 4, 2, 5, 1))]
    plan = PassPlan(solo(*[measure] * 12), 100.0)
    rng = random.Random(5)
    for _ in range(50):
        lapse = random_restart(rng, plan.arrangement)
        due = [(round(s / 0.3), p.id) for s, p in strokes_due(plan, random.Random(0), lapse)]
        first = lapse.begins + lapse.silent
        before, after = [each for each in due if each[0] < first], [each for each in due if each[0] >= first]

        assert len(before) == lapse.begins
        assert after[0] == (first, f"m{lapse.begins // 8 + 1}e1") or after[0] == (first, f"m{lapse.begins // 8}e1")


def test_picked_again_is_no_slip_of_the_truth(plan: PassPlan) -> None:
    played = perform(plan, [PickedAgain(1.0)], Pickup(), "a")

    assert set(played.truth.values()) == {"on time"}
    assert {stroke.slip for stroke in played.strokes} == {"", "picked again"}
