"""Learning an instrument: how late it hears, from one note to each of sixteen clicks.

Conventions

- A *lag* is the time of a note less that of its click, in milliseconds, later is positive. What is seen in playing to
  a click is only ever a sum: the instrument's latency and the player's own lean against the click.
- Clicks stand where they are heard; notes are stamped where they were captured.

How far latency and lean are told apart

People who tap to a click mostly come before it, and do not know it (the negative mean asynchrony: Aschersleben 2002,
Brain and Cognition 48, 66-79; Repp 2005, Psychonomic Bulletin & Review 12, 969-992). Untrained people lead by 20 to 80
ms, musicians by 0 to 30 ms (from memory). From this, and from what must be so, as much follows as :class:`Calibration`
says, and no more:

- The sum is measured, with the standard error that is told.
- No instrument hears a note before it sounds, so the latency of each string is at least 0. Where the sum of a string is
  negative, the player leads by at least that much.
- The player does not know which string is slow, so what differs between strings is the instrument's alone.
- The rest is divided by the literature: the lean lies somewhere in -80 to 0 ms, and is taken for -15 ms, the middle of
  what musicians show, or for what the rules above leave that is nearest to it. The interval of the latency is
  therefore about 80 ms wide, and no number of notes makes it narrower. Whoever comes *after* the click, as few do, is
  taken to play a slower instrument.

Verdicts hardly depend on the division: latency and lean are both taken off before a note is called early or late. They
do where the sum is below -40 ms, since verdicts take off no lean beyond 40 ms: of such a player's lead the rest stays.
The offsets that are reported, which leave the lean in, do depend on it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean, median

from coach.listening.heard import HeardNote, Latency

__all__ = ["CLICKS", "MOST_SPREAD_MS", "TEMPO", "Calibration", "StringLag", "calibrate"]

CLICKS = 16
"""Notes that are asked for, one a click."""

TEMPO = 100.0
"""Of the click, in quarters a minute: 600 ms apart, where people keep time best (300 to 1000 ms, from memory)."""

FEWEST = 10
"""Clicks that must have a note."""

MOST_STRAYS = 8
"""Notes that may belong to no click."""

MOST_SPREAD_MS = 45.0
"""Spread above which nothing is to be learned: people have 2 to 4 % of the gap and more (from memory), 12 to 24 ms."""

DOUBLE_S = 0.06
"""Seconds in which the same pitch again is the same pluck heard twice."""

GHOST_S = 0.04
"""Seconds in which the octave above, softer, is no pluck; as in a pass."""

REACH_MS = 100.0
"""A note farther than this from where the others come is as bad as none."""

OUTLIER = 4.0
"""Robust spreads from the middle beyond which a note is no measure of the instrument; at least ``NEAR_MS``."""
NEAR_MS = 40.0

APART_MS, A_GROUP = 60.0, 4
"""Notes fall in two groups when so many lie on each side of a void so wide."""

LEAD_MS, MOST_LEAD_MS = 15.0, 80.0
"""How far people come before the click: the middle of what musicians show, and at most (from memory)."""

EARLIEST_MS, LATEST_SHARE = -100.0, 1 / 3
"""A sum before this, or after this share of the gap between clicks, is nobody's lag."""

STRINGS_APART_MS = (0.0, 1.0, 2.0, 4.0, 8.0, 16.0)
"""Standard deviations of latency between strings that are thought as likely as one another before anything is heard. An
instrument that needs two periods of a note needs 13.6 ms for the fourth string and 5.1 ms for the fifth (computed)."""

_LOOK_BACK = 16  # notes within a double's time of another, at the very most
_A_STRING = 3  # notes of which one may be wrong
_LEAST_NOISE = 0.01  # square milliseconds
_MAD = 1.4826  # of a normal distribution: standard deviation over median absolute deviation (computed)


@dataclass(frozen=True, slots=True)
class StringLag:
    """The lag on one string.

    Attributes:
        string: 1..5.
        lag_ms: of its notes, drawn towards that of all notes by how little they tell.
        spread_ms: standard deviation of its notes, outliers aside; 0 for a single one.
        count: of its notes.
    """

    string: int
    lag_ms: float
    spread_ms: float
    count: int


@dataclass(frozen=True, slots=True)
class Calibration:
    """What sixteen notes to the click tell of an instrument and its player; see the module for how far it goes.

    Attributes:
        lag_ms: the sum of latency and lean.
        error_ms: the standard error of the sum.
        spread_ms: standard deviation of the notes, each about the lag of its string, outliers aside.
        strings: the strings that were heard, where channels tell strings; else empty.
        latency_ms: the instrument's share, >= 0, and between which values it lies.
        latency_from_ms, latency_to_ms: the interval.
        lean_ms: the player's share, <= 0 for one who comes before the click, and between which values it lies.
        lean_from_ms, lean_to_ms: the interval.
        offsets_ms: the lag at each click; None where it has no note.
        strays: notes that belong to no click.
        trusted: whether it may be used.
        sentence: what was learned, or why nothing was and what to do.
    """

    lag_ms: float
    error_ms: float
    spread_ms: float
    strings: tuple[StringLag, ...]
    latency_ms: float
    latency_from_ms: float
    latency_to_ms: float
    lean_ms: float
    lean_from_ms: float
    lean_to_ms: float
    offsets_ms: tuple[float | None, ...]
    strays: int
    trusted: bool
    sentence: str

    @property
    def latency(self) -> Latency:
        """What is to be taken off the notes: by string where they are told; the whole for one that was not heard."""
        if not self.strings:
            return Latency(round(self.latency_ms, 1))
        lags = {each.string: each.lag_ms for each in self.strings}
        return Latency(
            round(self.latency_ms, 1),
            tuple((string, round(lags.get(string, self.lag_ms) - self.lean_ms, 1)) for string in range(1, 6)),
        )


def calibrate(clicks: Sequence[float], notes: Iterable[HeardNote]) -> Calibration:
    """Learn an instrument from notes to the click.

    Missed and doubled notes and notes from nowhere do little harm: each click has the note nearest to where most
    notes come, within half a gap, which is the assignment of least cost; the sum is the median of the means of all
    pairs of lags (Hodges and Lehmann 1963, Annals of Mathematical Statistics 34, 598-611, from memory), without those
    four robust spreads away.

    Args:
        clicks: when each click is heard, in seconds, evenly spaced, at least two.
        notes: on the same clock, in any order; their ``string`` is known where channels tell strings.
    """
    gap = 1000 * (clicks[-1] - clicks[0]) / (len(clicks) - 1)
    plucks = [(1000 * (note.seconds - clicks[0]), note.string) for note in _without_echoes(notes)]
    by_click = _by_click(plucks, _where_most_come(plucks, len(clicks), gap), len(clicks), gap)
    there = [pair for pair in (_nearest(each) for each in by_click) if pair is not None]
    offsets = tuple(None if (pair := _nearest(each)) is None else pair.lag for each in by_click)
    kept = _near(there)
    strays = sum(len(each) for each in by_click) - len(there)
    if not kept:
        return Calibration(0, 0, 0, (), 0, 0, 0, 0, 0, 0, offsets, strays, trusted=False, sentence=_NOTHING)
    lag = _middle([each.lag for each in kept])
    strings = _strings(kept, lag)
    spread = _spread(_rests(kept, {each.string: each.lag_ms for each in strings}, lag), len(kept) - 1)
    error = 1.05 * spread / math.sqrt(len(kept))  # the mean's, by what this estimate loses on normal noise (computed)
    least = min((each.lag_ms for each in strings), default=lag)
    lean_most = min(0.0, least)
    lean_least = min(-MOST_LEAD_MS, lean_most)
    lean = min(-LEAD_MS, lean_most)
    wrong = _apart(there, gap) or _wrong(lag, spread, len(kept), strays, gap)
    return Calibration(
        lag_ms=lag,
        error_ms=error,
        spread_ms=spread,
        strings=strings,
        latency_ms=lag - lean,
        latency_from_ms=max(0.0, lag - lean_most - 2 * error),
        latency_to_ms=lag - lean_least + 2 * error,
        lean_ms=lean,
        lean_from_ms=lean_least,
        lean_to_ms=min(0.0, least + 2 * error),
        offsets_ms=offsets,
        strays=strays,
        trusted=not wrong,
        sentence=wrong or _learned(lag, error, lean, strings),
    )


@dataclass(frozen=True, slots=True)
class _Lag:
    """A note at a click: its lag in milliseconds, how far it lies from where most notes come, and its string."""

    lag: float
    aside: float
    string: int | None


def _without_echoes(notes: Iterable[HeardNote]) -> list[HeardNote]:
    """The plucks: without the same pitch again at once, and without soft octaves above."""
    kept: list[HeardNote] = []
    for note in sorted(notes, key=lambda note: (note.seconds, note.seq)):
        near = [other for other in kept[-_LOOK_BACK:] if note.seconds - other.seconds <= DOUBLE_S]
        if not any(_is_echo(note, other) for other in near):
            kept.append(note)
    return kept


def _is_echo(note: HeardNote, before: HeardNote) -> bool:
    if note.channel != before.channel:
        return False
    octave = note.pitch == before.pitch + 12 and note.velocity < before.velocity
    return note.pitch == before.pitch or (octave and note.seconds - before.seconds <= GHOST_S)


def _where_most_come(plucks: Sequence[tuple[float, int | None]], clicks: int, gap: float) -> float:
    """The lag from which clicks have their nearest notes least far, each by :data:`REACH_MS` at most.

    Every note could be late for one click or early for the next. Late is likelier, so a note counts for the click that
    lies at most a quarter of the gap after it.
    """
    found = sorted({round((at + gap / 4) % gap - gap / 4, 6) for at, _ in plucks})

    def cost(lag: float) -> float:
        nearest = (_nearest(each) for each in _by_click(plucks, lag, clicks, gap))
        return sum(REACH_MS if each is None else min(REACH_MS, abs(each.aside)) for each in nearest)

    return min(found, key=cost, default=0.0)


def _by_click(plucks: Sequence[tuple[float, int | None]], around: float, clicks: int, gap: float) -> list[list[_Lag]]:
    """The notes of each click: those within half a gap of where its note would come."""
    by_click: list[list[_Lag]] = [[] for _ in range(clicks)]
    for at, string in plucks:
        index = math.floor((at - around) / gap + 0.5)
        if 0 <= index < clicks:
            lag = at - index * gap
            by_click[index].append(_Lag(lag, lag - around, string))
    return by_click


def _nearest(lags: Iterable[_Lag]) -> _Lag | None:
    return min(lags, key=lambda each: abs(each.aside), default=None)


def _near(lags: Sequence[_Lag]) -> list[_Lag]:
    """Those that measure the instrument: not far from the middle of all, or of three and more on their own string."""
    if not lags:
        return []
    centre = median(each.lag for each in lags)
    reach = max(NEAR_MS, OUTLIER * _MAD * median(abs(each.lag - centre) for each in lags))
    own: dict[int | None, list[float]] = {}
    for each in lags:
        own.setdefault(each.string, []).append(each.lag)
    centres: dict[int | None, float] = {
        string: median(of) for string, of in own.items() if string is not None and len(of) >= _A_STRING
    }
    return [
        each
        for each in lags
        if abs(each.lag - centre) <= reach or abs(each.lag - centres.get(each.string, math.inf)) <= NEAR_MS
    ]


def _middle(values: Sequence[float]) -> float:
    """The median of the means of all pairs, each value with itself among them."""
    return median((one + other) / 2 for index, one in enumerate(values) for other in values[index:])


def _spread(rests: Sequence[float], free: int) -> float:
    """The standard deviation of what is left when outliers are out, with so many degrees of freedom.

    On sixteen notes the median absolute deviation alone is off by a quarter (simulated), and lets the wildest in.
    """
    return math.sqrt(sum(rest * rest for rest in rests) / max(1, free))


def _rests(lags: Iterable[_Lag], by_string: dict[int, float], whole: float) -> list[float]:
    """What is left of each lag when that of its string is taken off."""
    return [each.lag - (whole if each.string is None else by_string.get(each.string, whole)) for each in lags]


def _strings(kept: Sequence[_Lag], whole: float) -> tuple[StringLag, ...]:
    """The lag of each string, drawn towards the whole's by how little its own notes tell.

    The share that a string's own middle has is the mean, over what the notes say of each value of
    :data:`STRINGS_APART_MS`, of the share that it has under a normal prior of that width (empirical Bayes; Efron and
    Morris 1975, Journal of the American Statistical Association 70, 311-319, from memory). Three notes a string by
    themselves would say less than all notes together, with every usual instrument.
    """
    own: dict[int, list[float]] = {}
    for each in kept:
        if each.string is not None:
            own.setdefault(each.string, []).append(each.lag)
    free = sum(len(lags) for lags in own.values()) - len(own)
    if len(own) < 2 or free < 1:
        return ()
    middles = {string: _middle(lags) for string, lags in own.items()}
    # Strings whose notes agree to the digit leave no noise at all; stamps do not tell less than this.
    noise = max(_LEAST_NOISE, sum((lag - middles[string]) ** 2 for string, lags in own.items() for lag in lags) / free)
    shares = _shares([(middles[string] - whole, noise / len(lags)) for string, lags in own.items()])
    return tuple(
        StringLag(
            string,
            whole + (middles[string] - whole) * share,
            _spread([lag - middles[string] for lag in lags], len(lags) - 1),
            len(lags),
        )
        for (string, lags), share in sorted(zip(own.items(), shares, strict=True))
    )


def _shares(strings: Sequence[tuple[float, float]]) -> list[float]:
    """The shares of strings' own middles: for each how far it lies from the whole's, and the variance of its middle."""
    logs = [
        sum(-0.5 * (math.log(width**2 + noise) + aside**2 / (width**2 + noise)) for aside, noise in strings)
        for width in STRINGS_APART_MS
    ]
    likely = [math.exp(log - max(logs)) for log in logs]
    return [
        sum(weight * width**2 / (width**2 + noise) for weight, width in zip(likely, STRINGS_APART_MS, strict=True))
        / sum(likely)
        for _, noise in strings
    ]


_NOTHING = (
    "No note was heard on the click: see that the instrument is the one that is heard, and play one note on each click."
)


def _apart(lags: Sequence[_Lag], gap: float) -> str:
    """The sentence where notes fall in two groups, or in no groups but anywhere; empty where there is one."""
    # What lies more than a quarter of the gap before the others is taken to be that much after the click before.
    ordered = sorted(each.lag + gap if each.aside < -gap / 4 else each.lag for each in lags)
    inner = list(pairwise(ordered))[A_GROUP - 1 : len(ordered) - A_GROUP]
    void, after = max(((later - earlier, later) for earlier, later in inner), default=(0.0, 0.0))
    if void < APART_MS:
        return ""
    groups = [lag for lag in ordered if lag < after], [lag for lag in ordered if lag >= after]
    within = _spread([lag - fmean(group) for group in groups for lag in group], len(ordered) - 2)
    if within > MOST_SPREAD_MS:
        return _uneven(_spread([lag - fmean(ordered) for lag in ordered], len(ordered) - 1))
    apart = median(groups[1]) - median(groups[0])
    apart = min(apart, gap - apart)
    half = ", about half a beat" if apart > 3 / 8 * gap else ""
    return f"The notes fall in two groups, {apart:.0f} ms apart{half}: play each note on the click itself."


def _uneven(spread: float) -> str:
    return (
        f"The notes lie too unevenly round the click (spread {spread:.0f} ms): listen to a few clicks first, and then"
        " play one note on each."
    )


def _wrong(lag: float, spread: float, kept: int, strays: int, gap: float) -> str:
    """Why nothing is to be learned, and what to do; empty where there is no reason."""
    if strays > MOST_STRAYS:
        return (
            f"Besides those on the clicks there were {strays} other notes: damp the strings that you do not play, and"
            " play one single note on each click."
        )
    if kept < FEWEST:
        return f"Only {kept} of {CLICKS} clicks had a note in its place: play one note on every click."
    if spread > MOST_SPREAD_MS:
        return _uneven(spread)
    if not EARLIEST_MS <= lag <= LATEST_SHARE * gap:
        where = "before" if lag < 0 else "after"
        return f"The notes come {abs(lag):.0f} ms {where} the click, which is nearly between two: play on the click."
    return ""


def _learned(lag: float, error: float, lean: float, strings: Sequence[StringLag]) -> str:
    """What was learned, in a sentence."""
    where = f"{abs(lag):.0f} ms {'before' if lag < 0 else 'after'} the click, give or take {max(1, 2 * error):.0f} ms"
    share = f"{lag - lean:.0f} ms of the instrument less {-lean:.0f} ms that you play ahead, as most people do"
    told = ""
    if strings:
        slowest = max(strings, key=lambda each: each.lag_ms)
        told = f" (string {slowest.string} is the latest, by {slowest.lag_ms - lean:.0f} ms)"
    return f"Your notes come {where}; this is taken for {share}, though only the sum is measured{told}."
