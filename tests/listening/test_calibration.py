"""Learning an instrument: simulated players whose truth is known, and what must hold of any notes."""

from __future__ import annotations

import math
import random
import re
from dataclasses import dataclass, field, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.listening.calibration import CLICKS, MOST_SPREAD_MS, TEMPO, Calibration, calibrate
from coach.listening.heard import HeardNote

GAP = 60 / TEMPO
CLICK_TIMES = [2 + index * GAP for index in range(CLICKS)]
OPEN_STRINGS = {1: 62, 2: 59, 3: 55, 4: 50, 5: 67}
CLOSE = pytest.approx


@dataclass
class Player:
    """A simulated player with an instrument, and what is true of them.

    The instrument is late by a constant and by some periods of the note (f = 440 * 2^((n - 69) / 12)); the player
    leads, has a spread with a heavy tail, and misses, and the instrument sends doubles and notes from nowhere. Ranges
    of lead and spread are those of the literature (Repp 2005, from memory); the rest is common practice, no source.
    """

    rng: random.Random
    tells: bool = True
    spread: float | None = None
    latency: dict[int, float] = field(default_factory=dict)
    lean: float = 0.0

    def __post_init__(self) -> None:
        base, periods = self.rng.uniform(0, 45), self.rng.choice([0, 1, 2])
        for string, pitch in OPEN_STRINGS.items():
            self.latency[string] = base + periods * 1000 / (440 * 2 ** ((pitch - 69) / 12))
        trained = self.rng.random() < 0.5
        self.lean = -self.rng.uniform(0, 30) if trained else -self.rng.uniform(20, 80)
        usual = self.rng.uniform(10, 16) if trained else self.rng.uniform(18, 30)
        self.spread = usual if self.spread is None else self.spread

    @property
    def mean_latency(self) -> float:
        return sum(self.latency[index % 5 + 1] for index in range(CLICKS)) / CLICKS

    def play(self) -> list[HeardNote]:
        rng, notes = self.rng, []
        assert self.spread is not None
        for index, click in enumerate(CLICK_TIMES):
            string = index % 5 + 1
            if rng.random() < 0.05:
                notes.append(note(click + rng.uniform(-0.3, 0.3), rng.randint(50, 74), None, 50))
            if rng.random() < 0.05:
                continue
            aside = rng.gauss(0, self.spread) * (4 if rng.random() < 0.03 else 1)
            at = click + (self.latency[string] + self.lean + aside) / 1000
            told = string if self.tells else None
            notes.append(note(at, OPEN_STRINGS[string], told))
            if rng.random() < 0.05:
                notes.append(note(at + rng.uniform(0.02, 0.045), OPEN_STRINGS[string], told, 50))
        return notes


def note(seconds: float, pitch: int = 62, string: int | None = None, velocity: int = 90) -> HeardNote:
    return HeardNote(seconds, pitch, velocity, string or 1, string)


def in_turn(lags: list[float | None], *, tells: bool = False) -> list[HeardNote]:
    """A note to each click on the strings in turn, by their lags in milliseconds; None for none."""
    return [
        note(click + lag / 1000, OPEN_STRINGS[index % 5 + 1], index % 5 + 1 if tells else None)
        for index, (click, lag) in enumerate(zip(CLICK_TIMES, lags, strict=True))
        if lag is not None
    ]


# Sixteen lags about 20 with a spread of 12, as a pair of dice would give them.
UNEVEN = [
    20.0 + 12 * aside for aside in (0, 1, -1, 0.5, -0.5, 1.5, -1.5, 0.2, -0.2, 0.8, -0.8, 1.2, -1.2, 0.1, -0.1, 0)
]


def rms(values: list[float]) -> float:
    return math.sqrt(sum(value * value for value in values) / len(values))


# ---------------------------------------------------------------------------------------------- simulated players


@pytest.fixture(scope="module")
def learned() -> list[tuple[Player, Calibration]]:
    """Four hundred players."""
    players = [Player(random.Random(seed), tells=seed % 2 == 0) for seed in range(400)]
    return [(player, calibrate(CLICK_TIMES, player.play())) for player in players]


def test_the_sum_of_latency_and_lean_is_found(learned: list[tuple[Player, Calibration]]) -> None:
    asides = [found.lag_ms - (player.mean_latency + player.lean) for player, found in learned]

    assert rms(asides) < 7
    assert sorted(map(abs, asides))[379] < 14  # nineteen in twenty
    assert abs(sum(asides) / len(asides)) < 1.5  # no lean of its own


def test_the_standard_error_that_is_told_is_the_one_that_is_made(learned: list[tuple[Player, Calibration]]) -> None:
    shares = [(found.lag_ms - player.mean_latency - player.lean) / found.error_ms for player, found in learned]

    assert sum(abs(share) <= 2 for share in shares) >= 0.92 * len(shares)
    assert sum(abs(share) <= 1 for share in shares) <= 0.8 * len(shares)


def test_latency_and_lean_lie_in_their_intervals(learned: list[tuple[Player, Calibration]]) -> None:
    within = [found.latency_from_ms <= player.mean_latency <= found.latency_to_ms for player, found in learned]
    leans = [found.lean_from_ms <= player.lean <= found.lean_to_ms for player, found in learned]

    assert sum(within) >= 0.97 * len(within)
    assert sum(leans) >= 0.97 * len(leans)


def test_players_are_told_apart_from_noise(learned: list[tuple[Player, Calibration]]) -> None:
    assert sum(not found.trusted for _, found in learned) <= 0.02 * len(learned)
    wild = 0
    for seed in range(200):
        rng = random.Random(seed)
        anywhere = [
            note(rng.uniform(2, 2 + CLICKS * GAP), rng.choice(list(OPEN_STRINGS.values())))
            for _ in range(rng.randint(12, 40))
        ]
        wild += calibrate(CLICK_TIMES, anywhere).trusted
        wild += calibrate(CLICK_TIMES, Player(rng, spread=90.0).play()).trusted

    assert wild <= 0.03 * 400


def test_strings_that_differ_are_told_apart_and_those_that_do_not_are_left_alone() -> None:
    asides: dict[float, tuple[list[float], list[float]]] = {0.0: ([], []), 15.0: ([], [])}
    for apart, (own, whole) in asides.items():
        for seed in range(100):
            rng = random.Random(seed)
            truth = {string: 30 + rng.gauss(0, apart) for string in OPEN_STRINGS}
            lags = [truth[index % 5 + 1] + rng.gauss(0, 12) for index in range(CLICKS)]
            found = calibrate(CLICK_TIMES, in_turn([*lags], tells=True))
            own += [each.lag_ms - truth[each.string] for each in found.strings]
            whole += [found.lag_ms - truth[each.string] for each in found.strings]

    assert rms(asides[15.0][0]) < 0.6 * rms(asides[15.0][1])
    assert rms(asides[0.0][0]) < 1.4 * rms(asides[0.0][1])


# ---------------------------------------------------------------------------------------------- single cases


def test_latency_is_what_is_left_when_the_usual_lead_is_taken_off() -> None:
    found = calibrate(CLICK_TIMES, in_turn([*UNEVEN]))

    assert found.trusted
    assert (found.lag_ms, found.lean_ms, found.latency_ms) == CLOSE((20, -15, 35), abs=0.5)
    assert found.latency.ms == CLOSE(35, abs=0.5)
    assert found.latency.by_string == ()
    assert found.sentence.startswith("Your notes come 20 ms after the click, give or take ")


def test_a_lag_that_no_latency_explains_is_the_players() -> None:
    found = calibrate(CLICK_TIMES, in_turn([lag - 70 for lag in UNEVEN]))

    assert (found.lag_ms, found.lean_ms, found.latency_ms) == CLOSE((-50, -50, 0), abs=0.5)
    assert found.latency_from_ms == 0


def test_what_differs_between_strings_is_the_instruments() -> None:
    # String 4 comes 60 ms after the others: at -40 for the rest, a lead of 40 leaves them none, and string 4 its 60.
    lags = [(20.0 if index % 5 == 3 else -40.0) + index % 3 for index in range(CLICKS)]
    found = calibrate(CLICK_TIMES, in_turn([*lags], tells=True))
    by_string = dict(found.latency.by_string)

    assert by_string[4] == CLOSE(60, abs=4)
    assert found.lean_ms == CLOSE(-39, abs=3)
    assert all(ms >= 0 for ms in by_string.values())
    assert "(string 4 is the latest, by 60 ms)" in found.sentence


def test_a_string_that_was_not_heard_has_the_latency_of_the_whole() -> None:
    lags = [None if index % 5 == 4 else 20.0 + index % 3 for index in range(CLICKS)]
    found = calibrate(CLICK_TIMES, in_turn([*lags], tells=True))

    assert [each.string for each in found.strings] == [1, 2, 3, 4]
    assert dict(found.latency.by_string)[5] == CLOSE(found.latency_ms, abs=0.1)


def test_an_instrument_that_doubles_every_note_is_learned_by_the_first() -> None:
    single = in_turn([*UNEVEN])
    doubles = [replace(each, seconds=each.seconds + 0.03, velocity=40) for each in single]
    ghosts = [replace(each, seconds=each.seconds + 0.01, pitch=each.pitch + 12, velocity=40) for each in single]

    assert calibrate(CLICK_TIMES, [*single, *doubles, *ghosts]) == calibrate(CLICK_TIMES, single)


def test_the_count_in_played_along_is_no_part_of_it() -> None:
    before = [note(CLICK_TIMES[0] - GAP * beat + 0.02) for beat in range(1, 5)]

    assert calibrate(CLICK_TIMES, [*before, *in_turn([*UNEVEN])]) == calibrate(CLICK_TIMES, in_turn([*UNEVEN]))


@pytest.mark.parametrize(
    ("notes", "words"),
    [
        ([], "No note was heard on the click: see that the instrument is the one that is heard"),
        (in_turn([*UNEVEN[:9], *[None] * 7]), "Only 9 of 16 clicks had a note in its place: play one note on every"),
        (in_turn([20 if index % 2 else 320 for index in range(16)]), "two groups, 300 ms apart, about half a beat"),
        (in_turn([20 if index < 8 else 120 for index in range(16)]), "two groups, 100 ms apart: play each note"),
        (in_turn([lag + 300 for lag in UNEVEN]), "The notes come 320 ms after the click, which is nearly between two"),
        (in_turn([lag - 140 for lag in UNEVEN]), "The notes come 120 ms before the click"),
        (
            [note(click + 0.02 + 0.1 * way, 50 + way) for click in CLICK_TIMES for way in range(5)],
            "Besides those on the clicks there were 6[34] other notes",
        ),
        (in_turn([20 + 5 * (lag - 20) for lag in UNEVEN]), r"too unevenly round the click \(spread \d+ ms\)"),
    ],
)
def test_what_is_not_to_be_trusted_is_said_with_a_cure(notes: list[HeardNote], words: str) -> None:
    found = calibrate(CLICK_TIMES, notes)

    assert not found.trusted
    assert re.search(words, found.sentence), found.sentence
    assert found.sentence.endswith(".")


@pytest.mark.parametrize(("count", "trusted"), [(9, False), (10, True)])
def test_ten_clicks_must_have_a_note(count: int, *, trusted: bool) -> None:
    assert calibrate(CLICK_TIMES, in_turn([*UNEVEN[:count], *[None] * (CLICKS - count)])).trusted == trusted


@pytest.mark.parametrize(("share", "trusted"), [(0.99, True), (1.01, False)])
def test_a_spread_is_too_wide_above_its_limit(share: float, *, trusted: bool) -> None:
    spread = calibrate(CLICK_TIMES, in_turn([*UNEVEN])).spread_ms
    wider = [20 + (lag - 20) * share * MOST_SPREAD_MS / spread for lag in UNEVEN]

    assert calibrate(CLICK_TIMES, in_turn([*wider])).trusted == trusted


@pytest.mark.parametrize(("apart", "said"), [(59.0, False), (61.0, True)])
def test_two_groups_lie_on_both_sides_of_a_void(apart: float, *, said: bool) -> None:
    lags = [20.0 if index < 8 else 20 + apart for index in range(CLICKS)]

    assert ("two groups" in calibrate(CLICK_TIMES, in_turn([*lags])).sentence) == said


@pytest.mark.parametrize(
    ("within", "words"), [(0.9, "The notes fall in two groups, 200 ms apart"), (1.1, "too unevenly")]
)
def test_groups_that_are_as_wide_as_what_is_no_group_are_none(within: float, words: str) -> None:
    lags = [(20 if index % 2 else 220) + within * MOST_SPREAD_MS * (1 if index % 4 < 2 else -1) for index in range(16)]

    assert words in calibrate(CLICK_TIMES, in_turn([*lags])).sentence


def test_random_playing_is_uneven() -> None:
    said = []
    for seed in range(40):
        chance = random.Random(seed)
        found = calibrate(
            CLICK_TIMES, [note(chance.uniform(0.0, CLICKS * GAP) + CLICK_TIMES[0]) for _ in range(CLICKS)]
        )
        assert not found.trusted
        said.append(found.sentence)

    assert sum("two groups" in sentence for sentence in said) <= 1


# ---------------------------------------------------------------------------------------------- what holds of any notes

few_ms = st.floats(-45, 45)
sixteen = st.lists(few_ms, min_size=CLICKS, max_size=CLICKS)


@given(lags=sixteen, tells=st.booleans(), later=st.floats(0, 80))
def test_notes_that_come_later_by_a_constant_are_learned_as_later_by_it(
    lags: list[float], later: float, *, tells: bool
) -> None:
    before = calibrate(CLICK_TIMES, in_turn([*lags], tells=tells))
    after = calibrate(CLICK_TIMES, in_turn([lag + later for lag in lags], tells=tells))

    assert after.lag_ms == CLOSE(before.lag_ms + later, abs=1e-3)
    assert after.spread_ms == CLOSE(before.spread_ms, abs=1e-3)


@given(lags=sixteen, when=st.floats(-1e4, 1e4))
def test_it_does_not_matter_when_it_was_played(lags: list[float], when: float) -> None:
    clicks = [click + when for click in CLICK_TIMES]
    notes = [replace(each, seconds=each.seconds + when) for each in in_turn([*lags])]

    assert calibrate(clicks, notes).lag_ms == CLOSE(calibrate(CLICK_TIMES, in_turn([*lags])).lag_ms, abs=1e-3)


@given(
    lags=st.permutations(UNEVEN),
    missed=st.sets(st.integers(0, CLICKS - 1), max_size=4),
    doubled=st.sets(st.integers(0, CLICKS - 1), max_size=4),
    strays=st.lists(st.floats(1.5, 12), max_size=4),
)
def test_missed_and_doubled_notes_and_strays_do_little_harm(
    lags: list[float], missed: set[int], doubled: set[int], strays: list[float]
) -> None:
    whole = in_turn([*lags])
    doubles = [replace(whole[index], seconds=whole[index].seconds + 0.03) for index in doubled]
    rest = [each for index, each in enumerate(whole) if index not in missed]
    found = calibrate(CLICK_TIMES, [*rest, *doubles, *(note(seconds, 48) for seconds in strays)])

    assert found.trusted
    assert found.lag_ms == CLOSE(calibrate(CLICK_TIMES, whole).lag_ms, abs=9)  # three quarters of the spread


anything = st.builds(
    HeardNote,
    seconds=st.floats(0, 14),
    pitch=st.integers(0, 127),
    velocity=st.integers(1, 127),
    channel=st.integers(1, 16),
    string=st.none() | st.integers(1, 5),
)


@given(notes=st.lists(anything, max_size=60))
def test_any_notes_give_a_sentence_and_values_that_fit_together(notes: list[HeardNote]) -> None:
    found = calibrate(CLICK_TIMES, notes)

    assert found.sentence
    assert len(found.offsets_ms) == CLICKS
    assert found.latency_ms + found.lean_ms == CLOSE(found.lag_ms)
    assert 0 <= found.latency_from_ms <= found.latency_ms + 1e-9 <= found.latency_to_ms + 1e-6
    assert found.lean_from_ms <= found.lean_ms <= found.lean_to_ms + 1e-9
    assert sum(lag is not None for lag in found.offsets_ms) + found.strays <= len(notes)
    assert calibrate(CLICK_TIMES, reversed(notes)).lag_ms == CLOSE(found.lag_ms)
