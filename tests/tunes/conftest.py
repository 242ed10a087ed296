"""Short ways to read a tune in the tests of this room."""

from collections.abc import Callable

import pytest

from coach.errors import TuneError
from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Tune


@pytest.fixture
def abc() -> Callable[..., Tune]:
    """Read the music of an ABC tune in 4/4, quarters, C major unless the fields say otherwise."""

    def read(music: str, *, fields: str = "M:4/4\nL:1/4\n", key: str = "C", **options: object) -> Tune:
        return read_tune_bytes(f"X:1\nT:Test\n{fields}K:{key}\n{music}\n".encode(), "test.abc", **options)

    return read


@pytest.fixture(scope="session")
def attempt() -> Callable[[bytes, str], Tune | TuneError]:
    """Read a file, and return the error where there is one."""

    def read(data: bytes, name: str) -> Tune | TuneError:
        try:
            return read_tune_bytes(data, name)
        except TuneError as error:
            return error

    return read
