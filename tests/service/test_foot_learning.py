"""Setting a foot switch by pressing it: what is one, and that playing is none."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.service.foot import FOOT_SEAT, Switch
from coach.service.foot_learning import PATIENCE, QUIET, FootLearner


def learned(*messages: bytes, seat: str = "midi", quiet: float = QUIET) -> Switch | None:
    """What is learned of messages a tenth of a second apart, and of the quiet after them."""
    learner, now = FootLearner("start", 100.0), 100.0
    for data in messages:
        now += 0.1
        learner.hear(seat, data, now)
        learner.tick(now)
    learner.tick(now + quiet)
    return learner.switch


# Status bytes from the MIDI 1.0 table: 8n note off, 9n note on, Bn control change, Cn program change, En pitch bend.
@pytest.mark.parametrize(
    ("messages", "switch"),
    [
        ([b"\xc0\x05"], Switch("PC", 5)),
        ([b"\xb0\x40\x7f"], Switch("CC", 64)),
        ([b"\xb3\x50\x40"], Switch("CC", 80)),
        ([b"\xb0\x40\x3f"], None),
        ([b"\xb0\x40\x00", b"\xb0\x40\x7f"], Switch("CC", 64)),  # it comes up first, then goes down
        ([b"\xb0\x00\x7f", b"\xb0\x20\x7f", b"\xc0\x02"], Switch("PC", 2)),  # bank select goes before
        ([b"\xb0\x65\x40", b"\xb0\x64\x7f", b"\xb0\x06\x7f"], None),  # a parameter is set
        ([b"\xb0\x7b\x7f"], None),  # all notes off
        ([b"\xb0\x0b\x10", b"\xb0\x0b\x30", b"\xb0\x0b\x50"], None),  # a pedal by degrees
        ([b"\xe0\x00\x50", b"\xf8", b"\xd0\x50"], None),
    ],
)
def test_programs_and_controls_that_go_down_are_switches(messages: list[bytes], switch: Switch | None) -> None:
    assert learned(*messages) == switch


@pytest.mark.parametrize(
    ("messages", "quiet", "switch"),
    [
        ([b"\x90\x24\x50"], QUIET, None),
        ([b"\x90\x24\x50", b"\x80\x24\x00"], QUIET, None),
        ([b"\x90\x24\x50", b"\x90\x24\x00"], QUIET, None),
        ([b"\x90\x24\x50", b"\x80\x24\x00", b"\x90\x24\x50"], QUIET, Switch("note", 36)),
        ([b"\x90\x24\x50", b"\x90\x24\x50"], QUIET - 0.01, None),
        ([b"\x90\x3e\x50", b"\x90\x3e\x50", b"\x90\x37\x50"], QUIET, None),
        ([b"\x90\x37\x50", b"\x90\x3e\x50", b"\x90\x3e\x50"], QUIET, None),
    ],
)
def test_a_note_is_a_switch_when_it_is_struck_twice_and_nothing_else_is(
    messages: list[bytes], quiet: float, switch: Switch | None
) -> None:
    assert learned(*messages, quiet=quiet) == switch


def test_a_note_of_the_foot_switchs_own_input_is_one_at_once() -> None:
    assert learned(b"\x90\x24\x50", seat=FOOT_SEAT, quiet=0.0) == Switch("note", 36)


@given(pitches=st.lists(st.integers(50, 84), max_size=30).filter(lambda pitches: len(set(pitches)) > 1))
def test_no_playing_is_ever_a_switch(pitches: list[int]) -> None:
    assert learned(*(bytes((0x90, pitch, 80)) for pitch in pitches), quiet=60.0) is None


def test_the_player_is_told_what_to_do() -> None:
    learner = FootLearner("again", 0.0)
    said = [learner.words]
    for data in (b"\x90\x24\x50", b"\x90\x25\x50"):
        learner.hear("midi", data, 1.0)
        said.append(learner.words)

    assert said == [
        "Press the switch now.",
        "Note 36 came: if it is the switch, press it once more, and nothing else.",
        "Notes of playing came: press the switch; if it sends notes itself, begin anew and press it alone.",
    ]


@pytest.mark.parametrize(("seconds", "late"), [(PATIENCE - 0.01, False), (PATIENCE, True)])
def test_it_waits_so_long(seconds: float, *, late: bool) -> None:
    assert FootLearner("start", 50.0).is_late(50.0 + seconds) == late


@given(data=st.lists(st.binary(max_size=4), max_size=20))
def test_no_bytes_break_it(data: list[bytes]) -> None:
    switch = learned(*data)

    assert switch is None or 0 <= switch.number <= 127
