"""The tree of errors: one sentence each, also across processes."""

import pickle

import pytest

from coach.errors import ArrangeError, CoachError, InputError, PortError, ProtocolError, TakeError, TuneError


@pytest.mark.parametrize(
    ("error", "text"),
    [
        (TuneError("the file is empty"), "the file is empty."),
        (
            TuneError("'H7' is no chord name", where="a.abc, line 4", cure="write it like G"),
            "a.abc, line 4: 'H7' is no chord name; write it like G.",
        ),
        (PortError("no port is called X", cure="see coach ports"), "no port is called X; see coach ports."),
    ],
)
def test_an_error_reads_as_one_sentence(error: CoachError, text: str) -> None:
    assert str(error) == text


@pytest.mark.parametrize("kind", [ArrangeError, InputError, PortError, ProtocolError, TakeError, TuneError])
def test_an_error_survives_the_border_between_processes(kind: type[CoachError]) -> None:
    error = kind("what", where="where", cure="cure")

    again = pickle.loads(pickle.dumps(error))

    assert (type(again), again.what, again.where, again.cure) == (kind, "what", "where", "cure")
