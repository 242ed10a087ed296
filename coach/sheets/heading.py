"""What stands over a solo on paper: tier, key, tuning, capo, fifth string, tempo."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from coach.arranging.arrangement import Arrangement
from coach.instrument.fretboard import fifth_string_place
from coach.instrument.tuning import Tuning
from coach.tunes.keys import Key, spell

__all__ = [
    "Heading",
    "further_remarks",
    "heading_lines",
    "letter",
    "read_key",
    "solo_heading",
    "string_letters",
    "tempo_line",
]

# Tempos of the trade in quarters a minute (common practice, no source): where a beginner starts, a slow jam.
START = 60
SLOW_JAM = (100, 140)
_EIGHTH = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands over a sheet.

    Attributes:
        title, rights: of the tune; without rights empty.
        lines: what the player has to know, one or two facts each; the first one says what it is.
        remarks: what was decided on the way.
    """

    title: str
    rights: str
    lines: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def summary(self) -> str:
        """Title and first line, as one phrase."""
        first = self.lines[0]
        return f"{self.title}, {first[:1].lower()}{first[1:]}"


def read_key(name: str) -> Key:
    """The key that an arrangement names, ``G major``."""
    tonic, _, mode = name.partition(" ")
    return Key(tonic, mode or "major")


def letter(tuning: Tuning, string: int) -> str:
    """The name of an open string, 1..5, without capo; small for the short string."""
    name = spell(tuning.open_pitch(string) % 12, 1)
    return name.lower() if string == 5 else name


def string_letters(tuning: Tuning) -> str:
    """The open strings from the fifth to the first, ``g D G B D``."""
    return " ".join(letter(tuning, string) for string in (5, 4, 3, 2, 1))


def tempo_line(arrangement: Arrangement) -> str:
    """A sentence on tempo, in quarters and in the beats that a jam counts.

    A jam counts halves in duple and quadruple metres, and the dotted quarters of a compound metre. The trade's tempos
    are for solos in eighths: one in sixteenths is taken half as fast, and its quarters are the halves of a jam.
    """
    meter = arrangement.meter
    pace = min(arrangement.slot / _EIGHTH, Fraction(1))
    start, low, high = (round(tempo * pace) for tempo in (START, *SLOW_JAM))
    if meter.compound:
        name, length = "dotted quarters", meter.beat
    elif pace == 1 and (meter.count % 2 == 0 or meter.unit == 2):
        name, length = "halves", Fraction(2)
    else:
        return f"Tempo: start near {start} quarters a minute; a slow jam is {low} to {high}."
    return (
        f"Tempo: start near {start} quarters ({round(start / length)} {name}) a minute; "
        f"a slow jam is {low} to {high} ({round(low / length)} to {round(high / length)})."
    )


def heading_lines(arrangement: Arrangement) -> tuple[str, ...]:
    """The lines under the title, one fact or two each; the title itself is not among them."""
    sounding = f", sounds in {arrangement.sounding_key}" if arrangement.sounding_key else ""
    capo = fifth_string_place(arrangement.capo)
    # A roll study or a back-up part is no solo.
    sung = any(measure.melody for measure in arrangement.measures)
    what = f"{arrangement.tier.capitalize()} solo in" if sung else "In"
    return (
        f"{what} {arrangement.key}{sounding}",
        f"Tuning: {arrangement.tuning.name}, {string_letters(arrangement.tuning)} from string 5 to 1. {capo}".rstrip(),
        tempo_line(arrangement),
    )


def further_remarks(arrangement: Arrangement) -> tuple[str, ...]:
    """The remarks that the heading does not make already; that a metre was doubled is one of them."""
    told = fifth_string_place(arrangement.capo)
    return tuple(remark for remark in arrangement.remarks if remark != told)


def solo_heading(arrangement: Arrangement) -> Heading:
    """What stands over a solo."""
    return Heading(arrangement.title, arrangement.rights, heading_lines(arrangement), further_remarks(arrangement))
