"""A comparison sheet: the tune and its solos, measure under measure.

The tune stands on top with words and chords, the solos under it in the order given, each named. In one drawing ids are
unique: those of a solo's plucks begin with its tier (``beginner-m1e1``); measures, chords and the tune's notes bear the
same ids as on the sheet of one solo.
"""

from __future__ import annotations

from collections.abc import Sequence

from coach.arranging.arrangement import Arrangement
from coach.errors import InputError
from coach.sheets.folding import folded, written_out
from coach.sheets.heading import Heading, further_remarks, heading_lines
from coach.sheets.mei import Score
from coach.sheets.pages import Paper
from coach.sheets.pdf import score_pdf
from coach.sheets.svg import score_svg
from coach.sheets.tab_staff import TabStaff
from coach.sheets.tune_staff import TuneStaff

__all__ = ["comparison_score", "to_comparison_pdf", "to_comparison_svg"]


def to_comparison_svg(solos: Sequence[Arrangement], *, measures_per_system: int = 4) -> str:
    """Engrave solos of one tune as one tall page, repeats written out.

    Args:
        solos: of different tiers, of one tune with a melody, in one key and with one capo.
        measures_per_system: as in :func:`coach.sheets.svg.to_svg`.

    Raises:
        InputError: when they are not solos of one tune, or a length cannot be written in notes.
    """
    score = comparison_score(solos)
    return score_svg(score, written_out(solos[0]), _heading(solos), measures_per_system, headed=True)


def to_comparison_pdf(solos: Sequence[Arrangement], paper: Paper = "a4") -> bytes:
    """Write solos of one tune as PDF; repeats are folded where all of them allow it.

    Args:
        solos: as in :func:`to_comparison_svg`.
        paper: ``a4`` or ``letter``, upright.
    """
    score = comparison_score(solos)
    return score_pdf(score, folded(*solos), _heading(solos), paper)


def comparison_score(solos: Sequence[Arrangement]) -> Score:
    """The score of a comparison; see :func:`to_comparison_svg`."""
    first = solos[0]
    frames = {
        (solo.tune, solo.key, solo.capo, solo.tuning, tuple((each.number, each.length) for each in solo.measures))
        for solo in solos
    }
    if len(frames) != 1 or len({solo.tier for solo in solos}) != len(solos):
        raise InputError(
            "only different tiers of one tune, in one key, can be compared", cure="write a sheet of each instead"
        )
    if not any(measure.melody for measure in first.measures):
        raise InputError("without a tune there is nothing to compare", cure="write a sheet of each instead")
    tabs = [
        TabStaff(solo, number, prefix=f"{solo.tier}-", label=solo.tier.capitalize(), under_tab=number > 2)
        for number, solo in enumerate(solos, 2)
    ]
    return Score(first, TuneStaff(first, left_out=False), tabs, _subtitle(solos))


def _subtitle(solos: Sequence[Arrangement]) -> str:
    first = solos[0]
    sounding = f", sounds in {first.sounding_key}" if first.sounding_key else ""
    tiers = [solo.tier for solo in solos]
    return f"Tune and solos ({', '.join(tiers)}) in {first.key}{sounding}"


def _heading(solos: Sequence[Arrangement]) -> Heading:
    first = solos[0]
    remarks: dict[str, None] = {}
    for solo in solos:
        remarks |= dict.fromkeys(further_remarks(solo))
    return Heading(first.title, first.rights, (_subtitle(solos), *heading_lines(first)[1:]), tuple(remarks))
