"""What is learned of inputs by listening."""

from coach.listening.heard import STRINGS_ON_OWN_CHANNELS
from coach.service.strings import StringEar


def ear(*known: str) -> StringEar:
    return StringEar(lambda seat: seat in known)


def test_channels_tell_strings_once_two_of_them_were_heard() -> None:
    listening = ear()
    listening.hear("midi", b"\x90\x3e\x50")
    assert listening.channels([]) is None
    listening.hear("midi", b"\x91\x3b\x50")

    assert listening.channels([]) == STRINGS_ON_OWN_CHANNELS


def test_other_channels_tell_nothing() -> None:
    listening = ear()
    for channel in (5, 6, 9):
        listening.hear("midi", bytes((0x90 | channel, 60, 60)))

    assert listening.channels([]) is None


def test_the_end_of_a_note_tells_nothing() -> None:
    listening = ear()
    for data in (b"\x90\x3e\x50", b"\x91\x3e\x00", b"\x82\x3e\x40"):
        listening.hear("midi", data)

    assert listening.channels([]) is None


def test_one_input_that_does_not_tell_strings_decides_for_all() -> None:
    listening = ear("pad")
    listening.hear("pad", b"\x90\x3e\x50")
    assert listening.channels([]) == STRINGS_ON_OWN_CHANNELS
    listening.hear("midi", b"\x90\x3e\x50")

    assert listening.channels([]) is None


def test_before_any_note_the_inputs_at_hand_decide() -> None:
    assert ear("student").channels(["student"]) == STRINGS_ON_OWN_CHANNELS
    assert ear("student").channels(["student", "midi"]) is None
    assert ear().channels([]) == STRINGS_ON_OWN_CHANNELS


def test_an_input_is_forgotten() -> None:
    listening = ear()
    listening.hear("midi", b"\x90\x3e\x50")
    listening.forget(["midi", "nobody"])

    assert listening.seats == frozenset()


def test_the_bend_range_is_remembered_by_channel_in_its_order() -> None:
    # RPN 0 to 12 semitones (MIDI 1.0: controllers 101, 100, 6), then the null parameter.
    told = [b"\xb0\x65\x00", b"\xb0\x64\x00", b"\xb0\x06\x0c", b"\xb0\x65\x7f", b"\xb0\x64\x7f"]
    listening = ear()
    for data in [*told, b"\xb0\x07\x40", b"\x90\x3e\x50", b"\xb0", b""]:
        listening.hear("midi", data)
    listening.hear("midi", b"\xb1\x06\x02")

    assert listening.setup("midi") == (*told, b"\xb1\x06\x02")
    assert listening.setup("other") == ()


def test_of_an_instrument_that_another_takes_the_place_of_nothing_is_left() -> None:
    listening = StringEar(lambda _: False)
    for seat in ("pad-midi", "other"):
        for data in (b"\xb0\x06\x0c", b"\x90\x3c\x50", b"\x91\x3c\x50"):
            listening.hear(seat, data)
    listening.replace("pad-midi")

    assert listening.seats == {"other"}
    assert (listening.setup("pad-midi"), listening.setup("other")) == ((), (b"\xb0\x06\x0c",))
