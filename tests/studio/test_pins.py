"""Words pinned to measures."""

from __future__ import annotations

import pytest
from studio_people import REED, RUTH, WREN, a_studio

from coach.records.store import Store
from coach.studio.pins import Pinned, pin, pin_of_id, pins_of, remove_pin, see_pin

MADE = "2026-03-02T10:00:00Z"
READ = "2026-03-03T10:00:00Z"


@pytest.fixture
def studio(store: Store) -> Store:
    """A store with two studios."""
    store.write(a_studio).result()
    return store


def test_words_are_pinned_read_and_taken_away(studio: Store) -> None:
    key = studio.write(lambda c: pin(c, REED.id, "mill-lane", 3, "Let the middle finger lead.", RUTH.id, MADE)).result()
    whole = Pinned(key, REED.id, "Ruth", MADE, "mill-lane", 3, "Let the middle finger lead.", None)

    assert studio.read(lambda c: pin_of_id(c, key)) == whole
    for when in (READ, "2026-03-04T10:00:00Z"):
        studio.write(lambda c, when=when: see_pin(c, key, when)).result()
    assert studio.read(lambda c: pin_of_id(c, key)).seen == READ  # type: ignore[union-attr]
    studio.write(lambda c: remove_pin(c, key)).result()
    assert studio.read(lambda c: pin_of_id(c, key)) is None


def test_they_come_by_tune_and_measure_and_only_to_whom_they_are_for(studio: Store) -> None:
    for student, tune, measure in ((REED, "b", 1), (REED, "a", 9), (REED, "a", 2), (WREN, "a", 1)):
        studio.write(lambda c, s=student, t=tune, m=measure: pin(c, s.id, t, m, "so", RUTH.id, MADE)).result()

    def places(tune: str | None) -> list[tuple[str, int]]:
        return [(each.tune, each.measure) for each in studio.read(lambda c: pins_of(c, REED.id, tune))]

    assert places(None) == [("a", 2), ("a", 9), ("b", 1)]
    assert places("a") == [("a", 2), ("a", 9)]
    assert places("none") == []
