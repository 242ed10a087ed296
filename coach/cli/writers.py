"""The kinds of file that a solo is written as, by suffix; what is heavy is imported when it is used."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

from coach.arranging.arrangement import Arrangement
from coach.arranging.files import to_json
from coach.errors import InputError
from coach.sheets.pages import Paper

__all__ = ["WRITERS", "Wishes", "Writer", "compared", "writer_for"]


@dataclass(frozen=True, slots=True)
class Wishes:
    """What is wished of a file beyond the solo.

    Attributes:
        tempo: quarters a minute of the solo's notation.
        accompaniment: whether bass and chop sound along in a WAV file.
        paper: of a PDF.
    """

    tempo: float = 80.0
    accompaniment: bool = False
    paper: Paper = "a4"


Writer = Callable[[Arrangement, Wishes], bytes]


def _write_svg(solo: Arrangement, _: Wishes) -> bytes:
    from coach.sheets.svg import to_svg

    return to_svg(solo).encode()


def _write_mei(solo: Arrangement, _: Wishes) -> bytes:
    from coach.sheets.mei import to_mei

    return to_mei(solo, fold=True).encode()


def _write_pdf(solo: Arrangement, wishes: Wishes) -> bytes:
    from coach.sheets.pdf import to_pdf

    return to_pdf(solo, wishes.paper)


def _write_text(solo: Arrangement, _: Wishes) -> bytes:
    from coach.sheets.text import to_text

    return to_text(solo).encode()


def _write_midi(solo: Arrangement, wishes: Wishes) -> bytes:
    from coach.sheets.midi import to_midi

    return to_midi(solo, tempo=wishes.tempo)


def _write_musicxml(solo: Arrangement, wishes: Wishes) -> bytes:
    from coach.sheets.musicxml import to_musicxml

    return to_musicxml(solo, tempo=wishes.tempo).encode()


def _write_wav(solo: Arrangement, wishes: Wishes) -> bytes:
    from coach.sound.solo import SAMPLE_RATE, render
    from coach.sound.wav import to_wav

    return to_wav(render(solo, tempo=wishes.tempo, with_accompaniment=wishes.accompaniment), SAMPLE_RATE)


WRITERS: Mapping[str, Writer] = MappingProxyType(
    {
        ".json": lambda solo, _: to_json(solo),
        ".mei": _write_mei,
        ".mid": _write_midi,
        ".musicxml": _write_musicxml,
        ".pdf": _write_pdf,
        ".svg": _write_svg,
        ".txt": _write_text,
        ".wav": _write_wav,
    }
)


def writer_for(output: str) -> Writer:
    """The writer for a file name.

    Raises:
        InputError: when no solo can be written as such a file.
    """
    suffix = Path(output).suffix
    write = WRITERS.get(suffix.lower())
    if write is None:
        raise InputError(
            f"no solo can be written as {suffix or 'a file without a suffix'}",
            where=output,
            cure=f"choose one of {' '.join(WRITERS)}",
        )
    return write


def compared(output: str, solos: Sequence[Arrangement], wishes: Wishes) -> bytes:
    """Solos of one tune as a comparison sheet.

    Raises:
        InputError: when no sheet can be written as such a file, or the solos do not fit together.
    """
    from coach.sheets.comparison import to_comparison_pdf, to_comparison_svg

    match Path(output).suffix.lower():
        case ".pdf":
            return to_comparison_pdf(solos, wishes.paper)
        case ".svg":
            return to_comparison_svg(solos).encode()
    raise InputError("a comparison is a sheet", where=output, cure="end the name in .pdf or .svg")
