from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction

import pytest

from coach.arranging.arrangement import Arrangement, Pluck
from coach.listening.heard import Bend, Decoder, HeardNote
from coach.listening.plan import PassPlan
from coach.takes.player import JITTER, VirtualPlayer
from coach.takes.recorder import Recorder
from coach.takes.replay import report_on


def share_played(player: VirtualPlayer, solo: Arrangement, tempo: float) -> float:
    recorder = Recorder()
    mark = recorder.begin_pass(1.0, tempo)
    for message in player.play(PassPlan(solo, mark.tempo, mark.seconds)):
        recorder.add(mark.seconds + message.seconds, message.data)
    report = report_on(recorder.take(500.0), solo)
    notes = [note for result in report.results for note in result.notes]
    return sum(note.verdict == "on time" for note in notes) / len(notes)


def heard(player: VirtualPlayer, plan: PassPlan) -> list[HeardNote]:
    decoder = Decoder(player.channels)
    sounds = [decoder.feed(message.seconds, message.data, k) for k, message in enumerate(player.play(plan))]
    return [sound for sound in sounds if isinstance(sound, HeardNote)]


def test_the_same_seed_plays_the_same_pass_and_another_a_different_one(roll: Arrangement) -> None:
    plan = PassPlan(roll, 90.0)

    assert VirtualPlayer(seed=4).play(plan) == VirtualPlayer(seed=4).play(plan)
    assert VirtualPlayer(seed=4).play(plan) != VirtualPlayer(seed=5).play(plan)
    assert VirtualPlayer(seed=4).play(plan) != VirtualPlayer(seed=4).play(replace(plan, number=2))


def test_messages_are_in_order_and_every_note_ends(roll: Arrangement) -> None:
    messages = VirtualPlayer(seed=4).play(PassPlan(roll, 140.0))
    sounding: set[tuple[int, int]] = set()
    for message in messages:
        status, key, velocity = message.data
        if status & 0xF0 == 0x90:
            assert velocity > 0
            sounding.add((status & 0x0F, key))
        elif status & 0xF0 == 0x80:
            sounding.discard((status & 0x0F, key))

    assert [message.seconds for message in messages] == sorted(message.seconds for message in messages)
    assert sounding == set()


def test_with_ease_nothing_but_a_little_jitter_goes_wrong(solo: Callable[..., Arrangement]) -> None:
    plan = PassPlan(solo(16), 40.0)
    notes = heard(VirtualPlayer(ability=120.0), plan)
    times = [plan.tempo_map.seconds(start + p.at) for measure, start in plan.starts for p in measure.plucks]
    offsets = [note.seconds - time + 0.008 for note, time in zip(notes, times, strict=True)]

    assert max(map(abs, offsets)) < 5 * JITTER
    assert 0.5 * JITTER < (sum(offset**2 for offset in offsets) / len(offsets)) ** 0.5 < 1.2 * JITTER


def test_errors_grow_with_the_tempo_and_shrink_when_it_falls(solo: Callable[..., Arrangement]) -> None:
    shares = [
        sum(share_played(VirtualPlayer(ability=90.0, seed=seed), solo(16), tempo) for seed in range(6)) / 6
        for tempo in (45.0, 80.0, 100.0, 150.0)
    ]

    assert shares[0] > 0.99
    assert shares == sorted(shares, reverse=True)
    assert shares[3] < 0.8


def test_ability_grows_from_pass_to_pass() -> None:
    player = VirtualPlayer(ability=90.0, learns=0.02)

    assert player.ability_at(1) == 90.0
    assert player.ability_at(11) == pytest.approx(90.0 * 1.02**10)
    assert player.strain(90.0) == pytest.approx(0.5)
    assert player.strain(90.0, pass_number=11) < player.strain(90.0) < player.strain(100.0)


def test_under_strain_the_fifth_string_comes_early(solo: Callable[..., Arrangement]) -> None:
    plan = PassPlan(solo(16), 80.0)
    calm, strained = VirtualPlayer(ability=300.0), VirtualPlayer(ability=20.0)

    def lead(player: VirtualPlayer) -> float:
        """How much nearer the fifth string comes to the note before it than to the one after it."""
        notes = heard(player, plan)
        drones = [
            (before.seconds + after.seconds) / 2 - note.seconds
            for before, note, after in zip(notes, notes[1:], notes[2:], strict=False)
            if (note.string, before.string, after.string) == (5, 2, 1)
        ]
        return sum(drones) / len(drones)

    assert lead(strained) > lead(calm) + 0.02


def test_under_strain_the_middle_finger_is_weak(solo: Callable[..., Arrangement]) -> None:
    plain = solo(24)

    def with_middle(pluck: Pluck) -> Pluck:
        return replace(pluck, finger="M") if pluck.string == 1 else pluck

    measures = tuple(replace(m, plucks=tuple(map(with_middle, m.plucks))) for m in plain.measures)
    notes = heard(VirtualPlayer(ability=20.0), PassPlan(replace(plain, measures=measures), 80.0))
    by_string = {string: [n for n in notes if n.string == string] for string in (1, 5)}

    assert len(by_string[1]) < len(by_string[5])
    assert max(n.velocity for n in by_string[1]) < max(n.velocity for n in by_string[5]) + 5
    mean = {string: sum(n.velocity for n in found) / len(found) for string, found in by_string.items()}
    assert mean[1] < mean[5] - 10


def test_a_slide_of_two_semitones_is_a_bend_and_a_longer_one_a_new_note(roll: Arrangement) -> None:
    first = roll.measures[0].plucks[0]
    pick = replace(first, string=4, fret=2, pitch=52)

    def slide(fret: int, pitch: int) -> list[object]:
        slid = replace(
            pick, id="m1e2", at=Fraction(1), fret=fret, pitch=pitch, finger=None, technique="slide", from_fret=2
        )
        measure = replace(roll.measures[0], plucks=(pick, slid), chords=())
        decoder = Decoder((1, 2, 3, 4, 5))
        player = VirtualPlayer(ability=500.0)
        plan = PassPlan(replace(roll, measures=(measure,)), 60.0)
        sounds = [decoder.feed(message.seconds, message.data) for message in player.play(plan)]
        return [sound for sound in sounds if isinstance(sound, HeardNote | Bend)]

    by_bend = slide(4, 54)
    by_note = slide(5, 55)
    assert [type(sound) for sound in by_bend] == [HeardNote, Bend, Bend]
    assert isinstance(by_bend[2], Bend)
    assert by_bend[2].cents == pytest.approx(200.0, abs=0.1)
    assert [sound.pitch for sound in by_note if isinstance(sound, HeardNote)] == [52, 55]


def test_all_may_come_on_one_channel(roll: Arrangement) -> None:
    messages = VirtualPlayer(channels=None).play(PassPlan(roll, 80.0))

    assert {message.data[0] & 0x0F for message in messages} == {0}
