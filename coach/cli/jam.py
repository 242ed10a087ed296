"""What a solo becomes for a jam: a whole break, a part of it, a back-up part, or a whole run."""

from __future__ import annotations

import re
from dataclasses import dataclass

from coach.arranging.arrangement import Arrangement
from coach.arranging.backup import BackUpStyle, back_up, style_at
from coach.arranging.breaks import KickOff, whole_break
from coach.arranging.jam import jam_run
from coach.arranging.part import part_of
from coach.arranging.strains import strain_span
from coach.errors import InputError
from coach.tunes.tune import Tune

__all__ = ["BY_TEMPO", "Jam"]

BY_TEMPO = "by-tempo"

_SPAN = re.compile(r"(\d{1,4})(?:-(\d{1,4}))?")


@dataclass(frozen=True, slots=True)
class Jam:
    """What is wished.

    Attributes:
        kick_off: by notes or beats, None for none.
        ending: whether the two-measure ending follows.
        measures: ``5-12`` or ``5``, as played, or the letter of a strain; None for all.
        back_up: ``vamp``, ``rolls`` or :data:`BY_TEMPO`, of a run in its middle; None for the solo itself.
        turns: of others in a whole run, which has its kick-off and its ending in any case; None for no run.
    """

    kick_off: KickOff | None = None
    ending: bool = False
    measures: str | None = None
    back_up: str | None = None
    turns: int | None = None

    def shaped(self, solo: Arrangement, tempo: float, tune: Tune | None = None) -> Arrangement:
        """A solo as it is wished for; the same one where nothing is.

        Args:
            solo: in any tier.
            tempo: quarters a minute, by which a back-up part goes that names no style.
            tune: that the solo was arranged from, which knows its strains; None for a solo that was read.

        Raises:
            InputError: when the wishes do not go together, or the solo has no such measures.
        """
        if self.turns is not None:
            return self._run(solo, tempo, tune, self.turns)
        if self.back_up and (self.kick_off or self.ending):
            raise InputError(
                "a back-up part has no kick-off and no ending", where="--back-up", cure="leave the others out"
            )
        first, last = self._span(solo, tune)
        shaped = solo
        if self.kick_off or self.ending or self.measures:
            shaped = whole_break(solo, kick_off=self.kick_off, first=first, last=last, ending=self.ending)
        if self.back_up:
            shaped = back_up(shaped, self._style(tempo))
        return shaped

    def _run(self, solo: Arrangement, tempo: float, tune: Tune | None, turns: int) -> Arrangement:
        first, last = self._span(solo, tune)
        style = self._style(tempo) if self.back_up else "vamp"
        return jam_run(part_of(solo, first, last), turns, kick_off=self.kick_off or "notes", style=style)

    def _style(self, tempo: float) -> BackUpStyle:
        styles: dict[str | None, BackUpStyle] = {"vamp": "vamp", "rolls": "rolls"}
        return styles.get(self.back_up) or style_at(tempo)

    def _span(self, solo: Arrangement, tune: Tune | None) -> tuple[int | None, int | None]:
        if self.measures is None:
            return None, None
        if self.measures.strip().isalpha() and len(self.measures.strip()) == 1:
            if tune is None:
                raise InputError(
                    "an arrangement does not tell its strains", where="--measures", cure="write its measures, like 5-12"
                )
            return strain_span(solo, tune, self.measures)
        match = _SPAN.fullmatch(self.measures.strip())
        if match is None:
            raise InputError(
                f"{self.measures[:24]!r} names no measures",
                where="--measures",
                cure="write them like 5-12, as played, or name a strain: A",
            )
        return int(match[1]), int(match[2] or match[1])
