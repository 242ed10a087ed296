"""A solo on paper: PDF set by typst from the engraved systems.

Typst is a typesetter in one wheel that needs nothing of the system; its fonts are those in it and Liberation Serif from
``fonts`` beside this module, never the system's, so that the same solo gives the same bytes everywhere. Repeats are
folded.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace
from importlib.resources import files

from coach.arranging.arrangement import Arrangement
from coach.sheets.folding import PaperMeasure, folded
from coach.sheets.heading import Heading, solo_heading
from coach.sheets.laid import laid_out
from coach.sheets.letters import letters_missing
from coach.sheets.mei import Score, solo_score
from coach.sheets.pages import PAPERS, Paper

__all__ = ["score_pdf", "to_pdf"]

_SIDE, _TOP, _BOTTOM = 12.0, 11.0, 16.0
_HEADING_GAP = 5.0
_MOST_CODES = 6  # letters that are named
# Typst writes this moment (seconds since 1970) nowhere once the document has no date, but asks for one.
_EPOCH = 0


def to_pdf(arrangement: Arrangement, paper: Paper = "a4") -> bytes:
    """Write a solo as PDF.

    Args:
        arrangement: the solo.
        paper: ``a4`` or ``letter``, upright.

    Returns:
        The document; the same solo gives the same bytes, whatever fonts the system has.

    Raises:
        InputError: when a length cannot be written in notes.
    """
    return score_pdf(solo_score(arrangement), folded(arrangement), solo_heading(arrangement), paper)


def score_pdf(score: Score, measures: Sequence[PaperMeasure], heading: Heading, paper: Paper) -> bytes:
    """Write any score as PDF.

    Args:
        score: the score.
        measures: in paper order.
        heading: what stands over it.
        paper: ``a4`` or ``letter``, upright.
    """
    from typst import Compiler, Fonts

    heading = replace(heading, remarks=(*heading.remarks, *_left_out(score, heading)))
    width, height = PAPERS[paper]
    sheet = {
        "title": heading.title,
        "rights": heading.rights,
        "lines": heading.lines,
        "remarks": heading.remarks,
        "foot": heading.summary,
        "width": width,
        "height": height,
        "side": _SIDE,
        "top": _TOP,
        "bottom": _BOTTOM,
        "heading_gap": _HEADING_GAP,
        "systems": [],
        "described": [],
        "gaps": [],
        "pages": [],
    }
    template = (files("coach.sheets") / "sheet.typ").read_bytes()
    compiler = Compiler(
        template,
        font_paths=Fonts(include_system_fonts=False, font_paths=[str(files("coach.sheets") / "fonts")]),
        sys_inputs={"sheet": json.dumps(sheet)},
    )
    # How high the heading is, in millimetres.
    heading_height = float(json.loads(compiler.query("<heading-height>", field="value", one=True)))
    room = height - _TOP - _BOTTOM
    first = room - heading_height - _HEADING_GAP
    laid = laid_out(score, measures, width - 2 * _SIDE, first, room)
    sheet |= {"systems": laid.drawings, "described": laid.described, "pages": laid.pages, "gaps": laid.gaps}
    pdf = compiler.compile(template, format="pdf", sys_inputs={"sheet": json.dumps(sheet)}, timestamp=_EPOCH)
    assert isinstance(pdf, bytes)
    return pdf


def _left_out(score: Score, heading: Heading) -> Iterator[str]:
    """Say which letters the sheet cannot print; the typesetter itself leaves them out without a word."""
    notes = [note for measure in score.arrangement.measures for note in measure.melody]
    texts = [heading.title, heading.rights, *heading.lines, *heading.remarks, *(note.lyric or "" for note in notes)]
    missing = letters_missing("".join(texts))
    if missing:
        codes = ", ".join(f"U+{ord(letter):04X}" for letter in missing[:_MOST_CODES])
        more = " and others" if len(missing) > _MOST_CODES else ""
        yield f"Left out, as the font of printed sheets has no such letters: {codes}{more}. The .svg shows them."
