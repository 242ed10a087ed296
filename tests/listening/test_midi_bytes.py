"""Bytes of a cable, cut into messages; what is from MIDI 1.0 is from memory."""

from __future__ import annotations

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.listening.midi_bytes import MidiSplitter

channel_messages = st.one_of(
    st.tuples(st.integers(0x80, 0xBF), st.integers(0, 127), st.integers(0, 127)),
    st.tuples(st.integers(0xC0, 0xDF), st.integers(0, 127)),
    st.tuples(st.integers(0xE0, 0xEF), st.integers(0, 127), st.integers(0, 127)),
).map(bytes)
real_time = st.sampled_from([0xF8, 0xFA, 0xFB, 0xFC, 0xFE, 0xFF])


def split(*portions: bytes) -> list[bytes]:
    splitter = MidiSplitter()
    return [message for portion in portions for message in splitter.feed(portion)]


@pytest.mark.parametrize(
    ("data", "messages"),
    [
        ("90 37 50", ["90 37 50"]),
        ("90 37 50 3b 40", ["90 37 50", "90 3b 40"]),  # running status
        ("90 37 50 37 00", ["90 37 50", "90 37 00"]),  # and a note-off by velocity 0
        ("c0 69 6a", ["c0 69", "c0 6a"]),
        ("d3 10", ["d3 10"]),
        ("90 f8 37 fe 50 f8", ["90 37 50"]),  # clock and active sensing inside a message
        ("90 37 50 f8 3b 40", ["90 37 50", "90 3b 40"]),  # real time leaves running status alone
        ("f0 7e 01 02 f7 90 37 50", ["90 37 50"]),
        ("f0 7e f8 02 90 37 50", ["90 37 50"]),  # exclusive that another status byte ends
        ("90 37 50 f0 37 50 f7 37 50", ["90 37 50"]),  # exclusive ends running status
        ("90 37 50 f6 3b 40", ["90 37 50"]),  # so does a common message
        ("f2 10 20 f3 01 90 37 50", ["90 37 50"]),
        ("37 50 90 3b 40", ["90 3b 40"]),  # data bytes before any status byte belong to nothing
        ("90 37 80 3b 40", ["80 3b 40"]),  # broken off
        ("90", []),
        ("", []),
    ],
)
def test_a_stream_is_cut_into_messages_of_channels(data: str, messages: list[str]) -> None:
    assert split(bytes.fromhex(data)) == [bytes.fromhex(message) for message in messages]


@settings(derandomize=True, deadline=None)
@given(
    messages=st.lists(channel_messages, max_size=12),
    data=st.data(),
)
def test_any_messages_come_out_whole_from_running_status_real_time_bytes_and_any_portions(
    messages: list[bytes], data: st.DataObject
) -> None:
    stream: list[int] = []
    running = 0
    for message in messages:
        left_out = message[0] == running and data.draw(st.booleans())
        running = message[0]
        for byte in message[left_out:]:
            stream += [*data.draw(st.lists(real_time, max_size=2)), byte]
    cuts = sorted(data.draw(st.lists(st.integers(0, len(stream)), max_size=4)))
    portions = [bytes(stream[a:b]) for a, b in zip([0, *cuts], [*cuts, len(stream)], strict=True)]

    assert split(*portions) == messages


# An outside reading of the same bytes: the parser of mido, which knows no running status. Between messages that have
# their status bytes it meets exclusive, common and real-time messages as a cable has them.
@settings(derandomize=True, deadline=None)
@given(
    parts=st.lists(
        st.one_of(
            channel_messages,
            real_time.map(lambda byte: bytes([byte])),
            st.lists(st.integers(0, 127), max_size=5).map(lambda body: bytes([0xF0, *body, 0xF7])),
            st.sampled_from([b"\xf1\x10", b"\xf2\x10\x20", b"\xf3\x05", b"\xf6"]),
        ),
        max_size=12,
    )
)
def test_whole_messages_are_those_that_mido_reads(parts: list[bytes]) -> None:
    parser = mido.Parser()
    parser.feed(b"".join(parts))
    outside = [bytes(message.bytes()) for message in parser if message.bytes()[0] < 0xF0]

    assert split(b"".join(parts)) == outside


@settings(derandomize=True, deadline=None)
@given(portions=st.lists(st.binary(max_size=6), max_size=10))
def test_any_bytes_give_nothing_but_whole_messages(portions: list[bytes]) -> None:
    for message in split(*portions):
        assert 0x80 <= message[0] < 0xF0
        assert len(message) == (2 if message[0] & 0xE0 == 0xC0 else 3)
        assert max(message[1:]) < 0x80
