"""The work that worker processes do; each function is a job of its own and imports its libraries there."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import PurePath
from typing import Literal, get_args

from coach.arranging.arrangement import TIERS, ArrangedMeasure, Arrangement, Tier
from coach.arranging.edits import Edits
from coach.arranging.lick_table import Row
from coach.errors import ArrangeError, CoachError, TuneError
from coach.service.pieces import measure_at, next_tier
from coach.tunes.tune import Tune

__all__ = [
    "PAPERS",
    "GivenTune",
    "Paper",
    "Solo",
    "Ways",
    "demo_files",
    "jam_of",
    "mixed_of",
    "plain_name",
    "read_file",
    "render_sounds",
    "solo_of",
    "tiers_of",
    "warm_up",
    "ways_of",
    "write_paper",
]

Paper = Literal["wide.svg", "narrow.svg", "single.svg", "txt", "mid", "musicxml", "pdf", "letter.pdf", "explain.json"]
PAPERS: tuple[Paper, ...] = get_args(Paper)

MOST_TUNES = 500
"""Tunes of a file that is brought: they are read in one job."""

_MEASURES_PER_SYSTEM = {"wide.svg": 4, "narrow.svg": 2, "single.svg": 1}


@dataclass(frozen=True, slots=True)
class Solo:
    """A solo, its digest, its file, and how hard each of its measures is, in their order."""

    arrangement: Arrangement
    digest: str
    file: bytes
    difficulty: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Ways:
    """The other ways through a measure, from number 1 on, and their file."""

    measures: tuple[ArrangedMeasure, ...]
    file: bytes


@dataclass(frozen=True, slots=True)
class GivenTune:
    """A tune as a file gave it: the tune itself, or a solo that was arranged already, which may be a roll study."""

    id: str
    title: str
    key: str
    meter: str
    measures: int
    source: Tune | Solo
    study: bool = False


def warm_up() -> None:
    """Import what the other jobs need, so that the first tune does not wait for it."""
    import coach.sheets.svg
    import coach.tunes.read  # noqa: F401


def read_file(data: bytes, name: str) -> tuple[tuple[GivenTune, ...], tuple[str, ...]]:
    """Read every tune of a file.

    Args:
        data: the bytes of an ABC book, MusicXML, a MIDI file or an arrangement. MusicXML with a banjo tablature is a
            solo, as an arrangement is.
        name: of the file; used for its suffix and in sentences.

    Returns:
        the tunes that can be read, and a sentence for each that cannot; of a solo, one for each rule of the hands that
        it breaks.

    Raises:
        TuneError: when none can be read, or there are more than 500.
    """
    plain = plain_name(name)
    if plain.lower().endswith(".json"):
        from coach.arranging.files import from_json

        return _of_solo(from_json(data, plain), plain)
    from coach.sheets.tab_reading import holds_tab, read_tab

    if holds_tab(data):
        return _of_solo(read_tab(data, plain), plain)
    from coach.tunes.read import open_book_bytes, read_each

    unread = open_book_bytes(data, plain)
    if len(unread) > MOST_TUNES:
        raise TuneError(f"there are more than {MOST_TUNES} tunes in this book", where=plain, cure="split it")
    entries = read_each(unread)
    tunes: list[GivenTune] = []
    errors: list[TuneError] = []
    complaints: list[str] = []
    for entry in entries:
        if isinstance(entry.tune, Tune):
            tunes.append(_of_tune(entry.tune))
        else:
            errors.append(entry.tune)
            complaints.append(f"Tune {entry.number}{f', {entry.title}' * bool(entry.title)}: {entry.tune}")
    if not tunes:
        raise errors[0] if errors else TuneError("there is no tune in it", where=plain)
    return tuple(tunes), tuple(complaints)


def plain_name(name: str) -> str:
    """The name of a file as it may be used here: no folders, nothing unprintable, and short in bytes too."""
    last = PurePath(name.replace("\\", "/")).name
    printable = "".join(letter for letter in last if letter.isprintable())[-60:]
    return "tune" if printable in ("", "..") else printable


def tiers_of(source: Tune | Solo) -> tuple[Tier, ...]:
    """The tiers of the solos of a tune, the easiest first; a solo given as such is the only one, and counts as
    advanced when it is mixed."""
    if isinstance(source, Solo):
        return ("advanced" if source.arrangement.tier == "mixed" else source.arrangement.tier,)
    return TIERS


def solo_of(source: Tune | Solo, tier: Tier, edits: Edits | None = None, licks: tuple[Row, ...] = ()) -> Solo:
    """A tier's own solo of a tune.

    Args:
        source: a tune, or a solo that was given as such, which is its own.
        tier: one of :func:`tiers_of`.
        edits: a teacher's; a solo that was given as such has none.
        licks: a teacher's own.

    Raises:
        ArrangeError: when it cannot be made.
    """
    if isinstance(source, Solo):
        return source
    from coach.arranging.arrange import arrange

    return _solo(arrange(source, tier, edits=edits, licks=licks))


def mixed_of(
    source: Tune | Solo,
    tier: Tier,
    measures: tuple[int, ...],
    edits: Edits | None = None,
    licks: tuple[Row, ...] = (),
) -> Solo:
    """The solo of a tier with some measures of the next one.

    Args:
        source: a tune; a solo that was given as such has no other tiers.
        tier: which has a next one.
        measures: their numbers as played.
        edits: a teacher's.
        licks: a teacher's own.

    Raises:
        ArrangeError: when it cannot be made.
    """
    following = next_tier(tier)
    if isinstance(source, Solo) or following is None:
        title = source.arrangement.title if isinstance(source, Solo) else source.title
        raise ArrangeError("there is no next tier to mix in", where=title, cure="choose a solo of a tune")
    from coach.arranging.arrange import Work
    from coach.arranging.mixed import mix

    return _solo(mix(Work(source, edits=edits, licks=licks), tier, dict.fromkeys(measures, following)).arrangement)


def ways_of(
    source: Tune, solo: Arrangement, number: int, edits: Edits | None = None, licks: tuple[Row, ...] = ()
) -> Ways:
    """The other ways through a measure of a solo, in the tier that it is of there.

    Args:
        source: its tune.
        solo: with the edits.
        number: of the measure, as played.
        edits: a teacher's.
        licks: a teacher's own.

    Raises:
        ArrangeError: when there is no such measure.
    """
    from coach.arranging.arrange import Work
    from coach.arranging.otherways import other_ways
    from coach.arranging.way_files import ways_to_json

    standing = measure_at(solo, number)
    ways = other_ways(Work(source, edits=edits, licks=licks), standing.tier, number)
    return Ways(tuple(way.measure for way in ways), ways_to_json(standing, ways))


def jam_of(solo: Solo) -> Solo:
    """A solo as it goes in a jam.

    Raises:
        ArrangeError: when it has no chords.
    """
    from coach.arranging.jam import jam_run

    return _solo(jam_run(solo.arrangement))


def render_sounds() -> tuple[str, bytes, bytes]:
    """The bank of sounds: name and bytes of its file, and its index as JSON."""
    from coach.sound.bank import render_bank

    bank = render_bank()
    return bank.name, bank.flac, json.dumps(bank.index()).encode()


def demo_files() -> list[tuple[str, bytes]]:
    """The demo tunes and a study of each roll as files, in the order in which they are offered: name and bytes."""
    from coach.arranging.files import to_json
    from coach.arranging.studies import warm_ups
    from coach.tunes.demo import DEMO_TUNES, demo_bytes

    tunes = [(f"{name}.abc", demo_bytes(name)) for name in DEMO_TUNES]
    return [*tunes, *((f"{study.tune}.json", to_json(study)) for study in warm_ups())]


def write_paper(arrangement: Arrangement, paper: Paper, licks: tuple[Row, ...] = ()) -> bytes:
    """Write a solo as one of :data:`PAPERS`; ``licks`` are a teacher's own, which it is told by.

    Raises:
        CoachError: when it cannot be written.
    """
    if paper == "txt":
        from coach.sheets.text import to_text

        return to_text(arrangement).encode()
    if paper == "mid":
        from coach.sheets.midi import to_midi

        return to_midi(arrangement)
    if paper == "musicxml":
        from coach.sheets.musicxml import to_musicxml

        return to_musicxml(arrangement).encode()
    if paper in ("pdf", "letter.pdf"):
        from coach.sheets.pdf import to_pdf

        return to_pdf(arrangement, "letter" if paper == "letter.pdf" else "a4")
    if paper == "explain.json":
        from coach.arranging.explain import explain_json

        return explain_json(arrangement, licks)
    from coach.sheets.svg import to_svg

    return to_svg(arrangement, measures_per_system=_MEASURES_PER_SYSTEM[paper], heading=False).encode()


def _solo(arrangement: Arrangement) -> Solo:
    from coach.arranging.difficulty import difficulty
    from coach.arranging.files import digest, to_json

    told = tuple(measure.parts.index for measure in difficulty(arrangement).measures)
    return Solo(arrangement, digest(arrangement), to_json(arrangement), told)


def _of_tune(tune: Tune) -> GivenTune:
    full = [measure for measure in tune.measures if measure.number != 0]
    meter = str((full or list(tune.measures))[0].meter)
    return GivenTune(tune.id, tune.title or "Untitled", str(tune.key), meter, len(full), tune)


def _of_solo(arrangement: Arrangement, name: str) -> tuple[tuple[GivenTune, ...], tuple[str, ...]]:
    from coach.arranging.complaints import complaints
    from coach.arranging.studies import is_study

    if not arrangement.measures:
        raise CoachError("the solo has no measures", where=name)
    solo = _solo(arrangement)
    full = sum(measure.number != 0 for measure in arrangement.measures)
    study = is_study(arrangement)
    # A solo is another tune when it is played otherwise; a study has all that in its own id.
    tune = arrangement.tune if study else f"{arrangement.tune[:60]}-{solo.digest[:8]}"
    title = arrangement.title or "Untitled"
    sung = any(measure.melody for measure in arrangement.measures)
    # In the list a solo must not look like the tune that it was made of; a study or a back-up part says what it is.
    listed = f"{title}, {arrangement.tier} solo" if sung else title
    given = GivenTune(tune, listed, arrangement.key, str(arrangement.meter), full, solo, study)
    return (given,), tuple(f"{title}: {sentence}" for sentence in complaints(arrangement, most=6))
