"""MusicXML tablatures as strangers write them, put together from pieces."""

from __future__ import annotations

from fractions import Fraction

from coach.arranging.arrangement import Arrangement
from coach.sheets.tab_reading import read_tab

LINES = {1: "G4", 2: "D3", 3: "G3", 4: "B3", 5: "D4"}


def tuning(lines: dict[int, str] = LINES) -> str:
    return "".join(
        f'<staff-tuning line="{line}"><tuning-step>{name[0]}</tuning-step>'
        f"<tuning-octave>{name[-1]}</tuning-octave></staff-tuning>"
        for line, name in lines.items()
    )


def attributes(
    *, staff_lines: str = "<staff-lines>5</staff-lines>", tuned: str | None = None, more: str = "", time: str = "4/4"
) -> str:
    beats, unit = time.split("/")
    return (
        f"<attributes><divisions>12</divisions><key><fifths>1</fifths></key>"
        f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time><clef><sign>TAB</sign><line>5</line></clef>"
        f"<staff-details>{staff_lines}{tuning() if tuned is None else tuned}{more}</staff-details></attributes>"
    )


def harmony(step: str, kind: str = "major") -> str:
    return f"<harmony><root><root-step>{step}</root-step></root><kind>{kind}</kind></harmony>"


def fretted(
    string: int | None,
    fret: int | None,
    length: int = 6,
    *,
    chord: bool = False,
    technical: str = "",
    more: str = "",
    grace: bool = False,
    tie: str = "",
    voice: int = 1,
    pitch: str = "",
) -> str:
    """A note of the tablature; lengths are twelfths of a quarter."""
    place = (f"<string>{string}</string>" if string is not None else "") + (
        f"<fret>{fret}</fret>" if fret is not None else ""
    )
    sound = f"<pitch><step>{pitch[0]}</step><octave>{pitch[1]}</octave></pitch>" if pitch else ""
    return (
        f"<note>{'<grace/>' * grace}{'<chord/>' * chord}{sound}{'' if grace else f'<duration>{length}</duration>'}"
        f"{tie}<voice>{voice}</voice>"
        f"<notations>{more}<technical>{place}{technical}</technical></notations></note>"
    )


def rest(length: int) -> str:
    return f"<note><rest/><duration>{length}</duration></note>"


def sung(step: str, octave: int, length: int, lyric: str = "", more: str = "") -> str:
    word = f"<lyric><syllabic>single</syllabic><text>{lyric}</text></lyric>" if lyric else ""
    pitch = f"<pitch><step>{step}</step><octave>{octave}</octave></pitch>"
    return f"<note>{pitch}<duration>{length}</duration>{more}{word}</note>"


def part(*measures: str, name: str = "P1") -> str:
    body = "".join(f'<measure number="{number}">{measure}</measure>' for number, measure in enumerate(measures, 1))
    return f'<part id="{name}">{body}</part>'


def score(*parts: str, head: str = "") -> bytes:
    names = "".join(
        f'<score-part id="P{number}"><part-name>Part</part-name></score-part>' for number in range(1, len(parts) + 1)
    )
    return f"<score-partwise>{head}<part-list>{names}</part-list>{''.join(parts)}</score-partwise>".encode()


def read(*measures: str, where: str = "lick.musicxml", start: str | None = None) -> Arrangement:
    first, *others = measures
    return read_tab(score(part((attributes() if start is None else start) + first, *others)), where)


def rows(solo: Arrangement) -> list[tuple[int, Fraction, Fraction, int, int, str | None, str]]:
    return [
        (measure.number, pluck.at, pluck.length, pluck.string, pluck.fret, pluck.finger, pluck.technique)
        for measure, pluck in solo.plucks()
    ]


ROLL = "".join(fretted(string, 0) for string in (3, 2, 1, 5, 2, 1, 5, 2))
H = Fraction(1, 2)
