"""Foot switches: names, and when one goes down."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import InputError
from coach.service.foot import FootBoard, Switch, read_switch


@pytest.mark.parametrize(
    ("name", "switch"),
    [
        ("CC 64", Switch("CC", 64)),
        ("cc64", Switch("CC", 64)),
        ("PC 1", Switch("PC", 1)),
        ("note 36", Switch("note", 36)),
        (" Note 0 ", Switch("note", 0)),
        ("", None),
        ("  ", None),
    ],
)
def test_names_are_read(name: str, switch: Switch | None) -> None:
    assert read_switch(name) == switch


@given(kind=st.sampled_from(["CC", "PC", "note"]), number=st.integers(0, 127))
def test_a_name_is_read_back(kind: str, number: int) -> None:
    switch = read_switch(f"{kind} {number}")

    assert switch is not None
    assert read_switch(switch.name) == switch


@pytest.mark.parametrize("name", ["pedal", "CC", "CC 128", "CC -1", "note C3", "CC 64 65"])
def test_other_names_are_refused(name: str) -> None:
    with pytest.raises(InputError, match="is no foot switch; name it like CC 64, PC 1 or note 36"):
        read_switch(name)


# Status bytes from the MIDI 1.0 table: 8n note off, 9n note on, Bn control change, Cn program change.
@pytest.mark.parametrize(
    ("switch", "messages", "presses"),
    [
        (Switch("CC", 64), [b"\xb0\x40\x7f"], [True]),
        (Switch("CC", 64), [b"\xb0\x40\x40"], [True]),
        (Switch("CC", 64), [b"\xb0\x40\x3f"], [False]),
        (
            Switch("CC", 64),
            [b"\xb3\x40\x7f", b"\xb3\x40\x7f", b"\xb3\x40\x00", b"\xb3\x40\x7f"],
            [True, False, False, True],
        ),
        (Switch("PC", 1), [b"\xc0\x01", b"\xc0\x01"], [True, True]),
        (
            Switch("note", 36),
            [b"\x90\x24\x50", b"\x80\x24\x00", b"\x90\x24\x50", b"\x90\x24\x00"],
            [True, False, True, False],
        ),
    ],
)
def test_a_switch_counts_when_it_goes_down(switch: Switch, messages: list[bytes], presses: list[bool]) -> None:
    board = FootBoard()

    assert [board.pressed("midi", data, {"start": switch}) for data in messages] == [
        (True, "start" if press else None) for press in presses
    ]


@pytest.mark.parametrize("data", [b"\x90\x40\x7f", b"\xb0\x41\x7f", b"\xc0\x40", b"", b"\xb0", b"\xe0\x00\x40"])
def test_other_messages_are_none_of_its_business(data: bytes) -> None:
    assert FootBoard().pressed("midi", data, {"start": Switch("CC", 64), "again": None}) == (False, None)


@given(data=st.binary(max_size=4))
def test_no_bytes_break_it(data: bytes) -> None:
    switches: dict[str, Switch | None] = {"a": Switch("CC", 1), "b": Switch("PC", 1), "c": Switch("note", 1)}

    ours, does = FootBoard().pressed("midi", data, switches)

    assert does is None or ours


def test_what_was_down_on_an_input_that_is_gone_is_not_down_when_it_is_back() -> None:
    board, switches = FootBoard(), {"start": Switch("CC", 64)}
    down = b"\xb0\x40\x7f"
    assert [board.pressed(seat, down, switches)[1] for seat in ("midi", "foot", "midi")] == ["start", "start", None]

    board.let_go("midi")

    assert [board.pressed(seat, down, switches)[1] for seat in ("midi", "foot")] == ["start", None]
