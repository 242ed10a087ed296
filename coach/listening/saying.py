"""What a teacher would say of a pass: one to three sentences, the most useful first.

What is found (:mod:`~coach.listening.habits`, :mod:`~coach.listening.faults`) and what is left of plain faults is put
in order of what it costs; a habit, which can be worked on, goes before as many faults without one, and a passage before
both. A pass in which all is clean and that has no passage hears that first. Every sentence knows the measures it speaks
of.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from coach.listening.faults import EVEN_SHARE, faults_of, scatter_limit_ms, scatter_ms
from coach.listening.fills import cut_fills
from coach.listening.findings import Finding, Name
from coach.listening.habits import habits_of
from coach.listening.passage_words import passage_sentence
from coach.listening.passages import Passage
from coach.listening.playing import melody_db, sends_velocity
from coach.listening.scores import MeasureScore, PassResult
from coach.listening.slurring import slurring_findings
from coach.listening.strokes import PassStrokes

__all__ = ["MOST_SENTENCES", "Saying", "findings_of", "named_measures", "say", "words_of"]

MOST_SENTENCES = 3

_STOP_COST = 1000.0
_PASSAGE_COST = 8.0  # a measure: all its notes
_FAULT_COST = 0.5
_OFF_TIME_COST = 0.25
_NAMED = 3  # more measures (or runs of them) than this are counted, not named
_STANDS_OUT_DB = 2.5


@dataclass(frozen=True, slots=True)
class Saying:
    """A sentence, and the numbers of the measures that it speaks of."""

    text: str
    measures: tuple[int, ...]


def findings_of(passes: Sequence[PassStrokes], *, to_click: bool = True) -> tuple[Finding, ...]:
    """All that is found about the last of some passes through a solo, what costs most first.

    Args:
        passes: in order, at least one; the earlier ones add evidence for habits.
        to_click: whether they were played to a click; else nothing is found that only a click can tell.
    """
    found = [*habits_of(passes), *faults_of(passes[-1]), *slurring_findings(passes)]
    if not to_click:
        found = [finding for finding in found if finding.name not in _BY_THE_CLICK]
    if any(finding.name in _CAUSES_OF_SCATTER for finding in found):
        found = [finding for finding in found if finding.name != "scattered"]
    if any(finding.name in ("gaining", "falling behind") for finding in found):
        # Who is ever earlier has no steady lead.
        found = [finding for finding in found if not finding.name.startswith("leaning")]
    return tuple(sorted(found, key=lambda finding: -finding.cost))


def words_of(finding: Finding) -> str:
    """A finding in a sentence."""
    return _WORDS[finding.name](finding)


def say(
    passes: Sequence[PassStrokes], *, to_click: bool = True, found: Sequence[Finding] | None = None
) -> tuple[Saying, ...]:
    """What to say of the last of some passes through a solo.

    Args:
        passes: in order, at least one; the earlier ones add evidence for habits.
        to_click: whether they were played to a click; else nothing is said that only a click can tell.
        found: what :func:`findings_of` says of them, where that is known already.
    """
    heard = passes[-1]
    result = heard.result
    everywhere = tuple(score.number for score in result.measures)
    if not any(score.played for score in result.measures):
        return (Saying("Nothing was heard in this pass.", everywhere),)
    if found is None:
        found = findings_of(passes, to_click=to_click)
    costly = [(finding.cost, Saying(words_of(finding), finding.measures)) for finding in found]
    costly += _plain_faults(heard, found)
    costly += _passages(heard)
    costly.sort(key=lambda entry: -entry[0])
    sayings = [saying for _, saying in costly]
    elsewhere = {number for each in result.passages for number in _measures_of(each)}
    clean = [score for score in result.measures if score.clean and score.number not in elsewhere]
    reached = _reached(result)
    if len(clean) == len(result.measures) and result.whole:
        what = "The measure is clean." if len(clean) == 1 else "Every measure is clean."
        sayings = [Saying(what, everywhere), *sayings, *_praise(heard)]
    elif clean and len(sayings) < MOST_SENTENCES:
        sayings.append(Saying(_on_clean(clean, result), tuple(score.number for score in clean)))
    elif not sayings:
        sayings.append(Saying(f"None of the {len(reached)} measures is clean yet.", everywhere))
    return tuple(sayings[:MOST_SENTENCES])


# Plain faults and praise


def _plain_faults(heard: PassStrokes, found: Sequence[Finding]) -> Iterator[tuple[float, Saying]]:
    """Where it stopped, and how many faults there are that no finding explains."""
    result, measures = heard.result, _reached(heard.result)
    if not result.whole:
        last = measures[-1].number
        text = f"The pass was not played to its end; measure {last} is the last in which something was heard."
        yield _STOP_COST, Saying(text, (last,))
    told: dict[str, int] = {}
    for finding in found:
        for kind in _EXPLAINS.get(finding.name, ()):
            told[kind] = told.get(kind, 0) + round(finding.cost)
    missed = Counter(stroke.measure for stroke in heard.strokes if stroke.note.verdict == "missed")
    unwritten = Counter(extra.measure for extra in result.extras if extra.fault)
    kinds: list[tuple[str, str, Callable[[MeasureScore], int], float]] = [
        ("missed", "missed", lambda score: missed[score.number], _FAULT_COST),
        ("wrong", "wrong", lambda score: score.wrong, _FAULT_COST),
        ("extra", "heard that {} not written", lambda score: unwritten[score.number], _FAULT_COST),
        ("off time", "early or late", lambda score: score.off_time, _OFF_TIME_COST),
    ]
    timing = any(finding.name in _OF_TIME for finding in found)
    for kind, words, count, cost in kinds:
        faulty = [score for score in measures if count(score)]
        total = sum(map(count, faulty))
        if not total or (kind == "off time" and timing):
            continue
        notes, are = ("note was", "is") if total == 1 else ("notes were", "are")
        where = _where(faulty, [count(score) for score in faulty], len(measures))
        numbers = tuple(score.number for score in faulty)
        left = max(0, total - told.get(kind, 0))
        if 2 * left > total:
            yield cost * left, Saying(f"{total} {notes} {words.format(are)}, {where}.", numbers)


def _passages(heard: PassStrokes) -> Iterator[tuple[float, Saying]]:
    """Where the player was not where the solo was. The silence after a fill that was cut short has a better name."""
    result = heard.result
    lost = {stroke.note.pluck.index for cut in cut_fills(heard) for stroke in cut.lost}
    for passage in result.reached_passages:
        if passage.kind == "stopped" and not lost.isdisjoint(range(passage.first.index, passage.last.index + 1)):
            continue
        within = _measures_of(passage)
        numbers = tuple(score.number for score in result.measures if score.number in within)
        yield _PASSAGE_COST * len(numbers), Saying(passage_sentence(passage, result.plan.arrangement), numbers)


def _reached(result: PassResult) -> tuple[MeasureScore, ...]:
    """The measures up to the last in which a note was heard; all of them where the pass was played to its end."""
    if result.whole:
        return result.measures
    last = max((note.pluck.measure for note in result.reached), default=0)
    return tuple(score for score in result.measures if score.number <= last)


def _measures_of(passage: Passage) -> range:
    return range(passage.first.measure, passage.last.measure + 1)


def _where(faulty: Sequence[MeasureScore], counts: Sequence[int], of: int) -> str:
    """Where faults are: the measures, or the one that has more than half of them."""
    most = max(counts)
    if len(faulty) > 1 and 2 * most > sum(counts):
        return f"most of them in measure {faulty[counts.index(most)].number}"
    return _in_measures(tuple(score.number for score in faulty), of)


def _praise(heard: PassStrokes) -> Iterator[Saying]:
    everywhere = tuple(score.number for score in heard.result.measures)
    scatter = scatter_ms(heard)
    if scatter is not None and scatter <= EVEN_SHARE * scatter_limit_ms(heard):
        yield Saying(f"The time is even: the notes scatter by only {scatter:.0f} ms.", everywhere)
    above = melody_db(heard.strokes) if sends_velocity(heard.strokes) else None
    if above is not None and above >= _STANDS_OUT_DB:
        yield Saying(f"The melody stands out well, {above:.0f} dB above the fill.", everywhere)


def _on_clean(clean: Sequence[MeasureScore], result: PassResult) -> str:
    verb = "is" if len(clean) == 1 else "are"
    named = named_measures(tuple(score.number for score in clean))
    kept_going = ", and you kept going" if result.whole and result.kept_going else ""
    if named is None:
        return f"{len(clean)} of {len(_reached(result))} measures {verb} clean{kept_going}."
    return f"{named[0].upper()}{named[1:]} {verb} clean{kept_going}."


# The words


def named_measures(numbers: Sequence[int]) -> str | None:
    """Measures by their numbers, runs of three and more drawn together: ``measures 2, 5 and 7 to 9``; None where these
    are more than can be taken in."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    parts = [part for run in runs for part in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else map(str, run))]
    if not parts or len(parts) > _NAMED:
        return None
    listed = parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
    return f"{'measure' if len(numbers) == 1 else 'measures'} {listed}"


def _in_measures(numbers: Sequence[int], of: int) -> str:
    named = named_measures(numbers)
    return f"in {len(numbers)} of {of} measures" if named is None else f"in {named}"


def _there(finding: Finding) -> str:
    """Where a matter of time shows: a habit is counted, as soon as there is something to count."""
    named = named_measures(finding.measures)
    where = f"in {finding.count} of {finding.of} measures" if finding.count > 2 or named is None else f"in {named}"
    return f"{where}, as in the pass before" if finding.before else where


def _notes_there(finding: Finding) -> str:
    named = named_measures(finding.measures)
    where = f"in {len(finding.measures)} measures" if named is None else f"in {named}"
    return f"{where}, as in the pass before" if finding.before else where


def _of_slot(finding: Finding, how: str) -> str:
    return f"Note {finding.slot} of the roll comes {how}, by {finding.size:.0f} ms, {_there(finding)}."


def _neighbour(finding: Finding) -> str:
    which = "" if finding.strings is None else f", mostly string {finding.strings[1]} for string {finding.strings[0]}"
    return f"A neighbouring string is caught {_times(finding.count)}{which}, {_notes_there(finding)}."


def _cut_fill(finding: Finding) -> str:
    once = "The fill is cut short" if finding.count == 1 else f"The fill is cut short {_times(finding.count)}"
    back = _LENGTHS.get(finding.size)
    early = "early" if back is None else f"{back} early"
    return f"{once}, {_notes_there(finding)}, so that the melody comes back {early}: let the roll run its length."


def _picked(finding: Finding) -> str:
    named = named_measures(finding.measures)
    where = f"in {len(finding.measures)} measures" if named is None else f"in {named}"
    if finding.count == 1:
        return f"A slur is picked, not slurred, {where}: one pick, and the left hand sounds the second note."
    return f"{finding.count} of {finding.of} slurs are picked, not slurred, {where}: let the left hand sound them."


def _times(count: int) -> str:
    return "twice" if count == 2 else f"{count} times"


_LENGTHS = {0.5: "an eighth", 1.0: "a quarter", 1.5: "three eighths", 2.0: "two quarters", 3.0: "three quarters"}


def _hidden(finding: Finding) -> str:
    how = "as loud as the fill" if finding.size > -1.0 else f"{-finding.size:.0f} dB softer than the fill"
    return f"The melody does not stand out: it is {how}. Lean on the melody notes and let the rest be light."


def _leaning(finding: Finding, side: str) -> str:
    more = "a steady lead or lag is no mistake" if not finding.cost else "listen for the click, and let it carry you"
    return f"You play a steady {finding.size:.0f} ms {side} the click: {more}."


_WORDS: dict[Name, Callable[[Finding], str]] = {
    "fifth string early": lambda f: f"The fifth string comes early, by {f.size:.0f} ms, {_there(f)}.",
    "fifth string late": lambda f: f"The fifth string comes late, by {f.size:.0f} ms, {_there(f)}.",
    "change late": lambda f: f"Chord changes come late, by {f.size:.0f} ms, {_there(f)}: let the left hand go first.",
    "slide late": lambda f: f"Slides arrive late, by {f.size:.0f} ms, {_there(f)}: set out sooner.",
    "open roll rushed": lambda f: (
        f"The easy rolls on open strings run away, by {f.size:.0f} ms a measure, {_there(f)}."
    ),
    "off-beats late": lambda f: f"The off-beats come late, by {f.size:.0f} ms, {_there(f)}: long and short.",
    "off-beats early": lambda f: f"The off-beats come early, by {f.size:.0f} ms, {_there(f)}.",
    "slot early": lambda f: _of_slot(f, "early"),
    "slot late": lambda f: _of_slot(f, "late"),
    "kick-off late": lambda f: (
        f"The kick-off comes late, by {f.size:.0f} ms: hear the first note before the count ends."
    ),
    "gaining": lambda f: f"You gain on the click, by {f.size:.0f} ms over the pass.",
    "falling behind": lambda f: f"You fall behind the click, by {f.size:.0f} ms over the pass.",
    "scattered": lambda f: f"The notes scatter by {f.size:.0f} ms: let the click carry you.",
    "leaning ahead": lambda f: _leaning(f, "ahead of"),
    "leaning behind": lambda f: _leaning(f, "behind"),
    "swallowed": lambda f: f"The note after a slur is swallowed, {f.count} of {f.of} times, {_notes_there(f)}.",
    "crushed": lambda f: (
        f"Hammer-ons and pull-offs are crushed, {f.count} of {f.of} times, {_notes_there(f)}: "
        "give the first note its time."
    ),
    "middle missed": lambda f: f"The middle finger misses {f.count} of its {f.of} notes, {_notes_there(f)}.",
    "neighbour string": _neighbour,
    "fill cut short": _cut_fill,
    "picked, not slurred": _picked,
    "middle soft": lambda f: f"The middle finger is weak: {f.size:.0f} dB softer than thumb and index in the fill.",
    "melody hidden": _hidden,
}

_EXPLAINS: dict[Name, tuple[str, ...]] = {
    "swallowed": ("missed",),
    "middle missed": ("missed",),
    "crushed": ("missed", "extra"),
    "fill cut short": ("missed",),
    "neighbour string": ("wrong",),
}

_CAUSES_OF_SCATTER: frozenset[Name] = frozenset(
    name for name in _WORDS if name.startswith(("fifth", "change", "slide", "open roll", "off-beats", "slot"))
)
"""What makes notes scatter has a better name than that they do."""

_OF_TIME: frozenset[Name] = _CAUSES_OF_SCATTER | {"gaining", "falling behind", "scattered"}

_BY_THE_CLICK: frozenset[Name] = frozenset(
    ("kick-off late", "gaining", "falling behind", "scattered", "leaning ahead", "leaning behind")
)
"""What is found against a click, and sends the player back to it."""
