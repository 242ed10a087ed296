"""The demo tunes: words and melodies composed for this project, shipped with it as ABC."""

from __future__ import annotations

from importlib.resources import files

from coach.errors import TuneError
from coach.tunes.read import read_tune_bytes
from coach.tunes.tune import Tune

__all__ = ["DEMO_TUNES", "demo_bytes", "demo_tune"]

# Names and titles, in the order in which they are offered.
DEMO_TUNES = {
    "mill-lane": "Mill Lane",
    "turn-the-barrow": "Turn the Barrow",
    "lamps-on-the-water": "Lamps on the Water",
    "hollow-hill-road": "Hollow Hill Road",
}


def demo_bytes(name: str) -> bytes:
    """The ABC file of a demo tune.

    Raises:
        TuneError: when there is no demo tune of that name.
    """
    if name not in DEMO_TUNES:
        raise TuneError(f"there is no demo tune {name!r}", cure=f"choose one of {', '.join(DEMO_TUNES)}")
    return (files("coach.tunes") / "demo" / f"{name}.abc").read_bytes()


def demo_tune(name: str) -> Tune:
    """A demo tune by its name in :data:`DEMO_TUNES`.

    Raises:
        TuneError: when there is none of that name.
    """
    return read_tune_bytes(demo_bytes(name), f"{name}.abc")
