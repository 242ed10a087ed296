"""When all garbage is collected."""

from __future__ import annotations

from coach.service.undisturbed import LATEST, QUIET, Collector


class Looked:
    def __init__(self) -> None:
        self.now = 0.0
        self.playing = True
        self.at: list[float] = []
        self._collector = Collector(lambda: self.playing, lambda: self.now, lambda: self.at.append(self.now))

    def until(self, end: float) -> list[float]:
        while self.now + QUIET <= end:
            self.now += QUIET
            self._collector.look()
        return self.at


def test_nothing_is_collected_while_somebody_plays() -> None:
    assert Looked().until(LATEST - QUIET) == []


def test_it_is_collected_after_an_hour_of_playing_and_not_at_once_again() -> None:
    assert Looked().until(2.5 * LATEST) == [LATEST, 2 * LATEST]


def test_it_is_collected_whenever_nobody_plays() -> None:
    looked = Looked()
    looked.playing = False
    assert looked.until(3 * QUIET) == [QUIET, 2 * QUIET, 3 * QUIET]


def test_the_hour_begins_with_the_last_collection() -> None:
    looked = Looked()
    looked.playing = False
    looked.until(LATEST / 2)
    looked.playing = True
    assert looked.until(LATEST + LATEST / 4)[-1] == LATEST / 2
    assert looked.until(2 * LATEST)[-1] == LATEST / 2 + LATEST
