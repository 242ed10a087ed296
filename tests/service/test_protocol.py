"""Whatever a page sends: an answer in words, never a crash, and nothing for the other sessions."""

from __future__ import annotations

import contextlib
import json
import string
from typing import Any

import msgspec
import msgspec.structs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.errors import CoachError
from coach.service import protocol as wire

KINDS = [
    *("join", "pong", "settings", "start", "stop", "again", "next_rung", "calibrate", "learn_foot", "mark"),
    *("sounding", "notes", "input", "enter", "edit", "undo", "redo", "answer", "desk", "look_on", "steer", "dance"),
]
FIELDS = sorted(
    {field.name for kind in wire.FromPage.__args__ for field in msgspec.structs.fields(kind)} | {"seq", "stamp", "data"}
)

plain = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(2**60), 2**60),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(string.printable, max_size=12),
    st.sampled_from(["home", "pad", "beginner", "page", "midi", "CC 64", "banjo", "1-5"]),
)
values = st.recursive(
    plain, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(FIELDS), inner, max_size=3)
)
objects = st.fixed_dictionaries({"kind": st.sampled_from(KINDS)}).flatmap(
    lambda head: st.dictionaries(st.sampled_from(FIELDS), values, max_size=6).map(lambda rest: {**rest, **head})
)

notes = st.builds(
    wire.InputNote,
    seq=st.integers(0, 2**53),
    stamp=st.floats(-1e9, 1e12),
    data=st.lists(st.integers(0, 255), min_size=1, max_size=3),
)
meant = st.one_of(
    st.builds(
        wire.Settings,
        tier=st.none() | st.sampled_from(["beginner", "intermediate", "advanced"]),
        tempo=st.none() | st.floats(20, 400),
        goal=st.none() | st.floats(20, 400),
        floor=st.none() | st.floats(20, 400),
        first=st.none() | st.integers(0, 2000),
        last=st.none() | st.integers(0, 2000),
        whole=st.booleans(),
        bounce=st.none() | st.integers(50, 67),
        keep_going=st.none() | st.booleans(),
        self_marked=st.none() | st.booleans(),
        sound=st.none() | st.sampled_from(["page", "midi"]),
        latency_ms=st.none() | st.floats(-50, 500),
        tolerance_ms=st.none() | st.floats(10, 150),
        midi_in=st.none() | st.sampled_from(["", "banjo", "x"]),
        foot_start=st.none() | st.sampled_from(["", "CC 64", "note 60", "nothing"]),
        string_channels=st.none() | st.sampled_from(["auto", "off", "1-5", "11-15"]),
    ),
    st.builds(wire.Start, sounds=st.booleans()),
    st.just(wire.Stop()),
    st.just(wire.Again()),
    st.just(wire.NextRung()),
    st.builds(wire.Mark, clean=st.booleans()),
    st.builds(wire.Sounding, number=st.integers(0, 4), origin=st.floats(-1e9, 1e12)),
    st.builds(
        wire.Notes,
        seat=st.sampled_from(["pad", "pad-midi"]),
        items=st.lists(notes, max_size=4),
        watermark=st.none() | st.floats(-1e9, 1e12),
    ),
    st.builds(
        wire.Pong,
        id=st.integers(0, 20),
        t1=st.floats(-1e9, 1e12),
        t2=st.floats(-1e9, 1e12),
        t3=st.floats(-1e9, 1e12),
    ),
    st.builds(wire.Input, name=st.sampled_from(["", "Cedar Five", "Oak"]), stamp=st.none() | st.floats(-1e9, 1e12)),
    st.builds(wire.Enter, on=st.booleans()),
    st.just(wire.Undo()),
    st.just(wire.Redo()),
    st.builds(
        wire.Edit,
        digest=st.just("0"),
        measure=st.integers(0, 5),
        does=st.sampled_from(["take", "lock", "free", "replace", "add", "leave out"]),
    ),
)


@given(message=objects | values)
def test_random_json_is_read_or_refused_with_its_place(message: object) -> None:
    read: object = None
    with contextlib.suppress(msgspec.ValidationError):
        read = wire.decode_from_page(json.dumps(message))

    assert read is None or isinstance(read, wire.FromPage)


@given(text=st.text() | st.binary())
def test_random_text_is_refused(text: str | bytes) -> None:
    with pytest.raises((msgspec.DecodeError, UnicodeDecodeError, UnicodeEncodeError)):
        wire.decode_from_page(text)


@pytest.mark.parametrize("at", ["1/0", "1/00", "1/2/3", "1000", "-1", "1.5", "1/2\n", "\u0661"])
def test_a_position_is_a_fraction(at: str) -> None:
    text = json.dumps({"kind": "edit", "digest": "0", "measure": 1, "does": "leave out", "at": at})
    with pytest.raises(msgspec.ValidationError, match="at"):
        wire.decode_from_page(text)


@pytest.mark.parametrize("at", ["0", "7/2", "999/999", "10/10"])
def test_every_fraction_of_a_measure_is_a_position(at: str) -> None:
    text = json.dumps({"kind": "edit", "digest": "0", "measure": 1, "does": "leave out", "at": at})
    message = wire.decode_from_page(text)
    assert isinstance(message, wire.Edit)
    assert message.at == at


@settings(max_examples=50)
@given(messages=st.lists(meant | st.floats(0, 3), max_size=25))
def test_no_order_of_messages_breaks_a_session(
    tmp_path_factory: pytest.TempPathFactory, make_world: Any, messages: list[Any]
) -> None:
    world = make_world(tmp_path_factory.mktemp("fuzz"))
    world.ready()
    page, other = world.page(), world.page("other", 3.0)
    for message in messages:
        if isinstance(message, float):
            world.run(message, beat=0.25, marks=(page,))
            continue
        with contextlib.suppress(CoachError):  # what cannot be done is said; anything else fails the test
            page.say(message)
    world.run(0.5)
    world.session.close()

    assert not [each for each in page.all(wire.Failure) if "went wrong" in each.text]
    states = other.all(wire.State)
    assert states
    for state in states:
        assert wire.encode(state)
    number = [begin.number for begin in page.all(wire.Begin)]
    assert number == sorted(number)


def test_every_message_of_the_service_can_be_written(world: Any) -> None:
    page = world.page()

    for message in page.messages:
        text = json.loads(wire.encode(message))
        assert text["kind"] == message.__struct_config__.tag
