"""What sounds along with a pass."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Any

import pytest

from coach.listening.plan import PassPlan
from coach.service import protocol as wire
from coach.service.accompany import Levels, Played, at_levels, cues_of, lead_of, midi_of, played_along, positions_of
from coach.service.settings import BY_EAR

TEMPO = 120.0


def only_solo(plan: PassPlan) -> list[Played]:
    return [part for part in played_along(plan) if part.voice == "banjo"]


@pytest.fixture
def plan(solos: Any) -> PassPlan:
    return PassPlan(solos["intermediate"].arrangement, TEMPO)


def test_the_count_in_lies_before_position_0_and_a_click_on_every_beat(plan: PassPlan) -> None:
    clicks = [part for part in played_along(plan) if part.voice in ("click", "accent")]

    assert lead_of(plan) == 2.0
    assert [part.at for part in clicks] == [pytest.approx(-2.0 + 0.5 * beat) for beat in range(20)]
    assert [part.voice for part in clicks[:5]] == ["accent", "click", "click", "click", "accent"]


def test_a_part_of_the_solo_begins_at_position_0(plan: PassPlan) -> None:
    part = replace(plan, first=3, last=4)
    solo = [each for each in played_along(part) if each.voice == "banjo"]

    assert positions_of(part) == [(3, 0.0), (4, 2.0)]
    assert solo[0].at == 0.0
    assert len(solo) == sum(len(measure.plucks) for measure in part.measures)


def test_silent_parts_are_left_out(plan: PassPlan) -> None:
    parts = played_along(plan)
    assert at_levels(parts, Levels(0, 0, 0)) == []
    assert {part.voice for part in at_levels(parts, Levels(0, 0.5, 0))} == {"bass", "chop"}
    assert {part.voice for part in at_levels(parts, Levels(0, 0, 0.5))} == {"banjo"}


def test_levels_are_within_their_part_and_each_part_has_one_of_its_own(plan: PassPlan) -> None:
    parts = played_along(plan)
    levels = Levels(0.5, 0.25, 0.125)

    assert {max(part.level for part in parts if levels.of(part.voice) == each) for each in (0.5, 0.25, 0.125)} == {1.0}
    assert [part.level for part in at_levels(parts, levels)] == [part.level * levels.of(part.voice) for part in parts]


def test_bounce_moves_the_solo_and_not_the_beats(plan: PassPlan) -> None:
    straight, bent = ([part.at for part in only_solo(each)] for each in (plan, replace(plan, bounce=67)))
    pairs = list(zip(straight, bent, strict=True))

    assert all(after == pytest.approx(before) for before, after in pairs if (before * 2) % 1 == 0)
    assert all(after == pytest.approx(before + 0.5 * 0.17) for before, after in pairs if (before * 2) % 1 == 0.5)


def test_a_string_rings_until_it_is_sounded_again(plan: PassPlan) -> None:
    by_string: dict[int, list[Any]] = {}
    for part in only_solo(plan):
        by_string.setdefault(part.channel, []).append(part)

    for parts in by_string.values():
        for before, after in itertools.pairwise(parts):
            assert before.at + before.length <= after.at + 1e-9


def test_cues_carry_what_a_page_needs(plan: PassPlan) -> None:
    parts = played_along(plan)

    assert [(cue.at, cue.voice, cue.pitch, cue.length, cue.level) for cue in cues_of(parts)] == [
        (part.at, part.voice, part.pitch, part.length, part.level) for part in parts
    ]


def test_midi_has_its_programs_first_and_ends_every_note(plan: PassPlan) -> None:
    # General MIDI level 1: banjo 105, acoustic bass 32, steel guitar 25 (from 0); wood blocks 76 and 77 on channel 10.
    messages = sorted(midi_of(played_along(plan), origin=100.0))
    programs = [message.data for message in messages[:7]]
    assert sorted(programs) == sorted(
        [*(bytes((0xC0 | channel, 105)) for channel in range(5)), b"\xc5\x20", b"\xc6\x19"]
    )
    assert messages[7].seconds == pytest.approx(98.0)
    assert messages[7].data == b"\x99\x4c\x7f"

    sounding: dict[tuple[int, int], int] = {}
    for message in messages[7:]:
        key = (message.data[0] & 0x0F, message.data[1])
        sounding[key] = sounding.get(key, 0) + (1 if message.data[0] & 0xF0 == 0x90 else -1)
        assert sounding[key] >= 0
    assert set(sounding.values()) == {0}


def test_a_page_gets_all_parts_and_is_told_how_loud_each_is_now(world: Any) -> None:
    world.ready()
    page = world.page()
    page.say(wire.Settings(click_level=0.6, backing_level=0.5, with_backing=False, with_solo=True))
    page.say(wire.Start(sounds=True))

    begin = page.last(wire.Begin)
    assert begin.levels == {"click": 0.6, "backing": 0.0, "solo": BY_EAR}
    assert {cue.voice for cue in begin.cues} == {"click", "accent", "bass", "chop", "banjo"}

    page.say(wire.Settings(with_backing=True, solo_level=0.9))
    assert page.last(wire.State).levels == {"click": 0.6, "backing": 0.5, "solo": 0.9}
