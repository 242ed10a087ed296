"""The costs that the search adds up: one table, integers, each with a name, a sentence and its place.

The numbers are common practice turned into prices, no source: what a teacher would never write is no cost but a hard
rule, and what he would rather not write costs the more, the sooner he would rub it out.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["COSTS", "Cost", "Place", "cost"]

Place = Literal["note", "fill", "step", "measure", "barline"]


@dataclass(frozen=True, slots=True)
class Cost:
    """A cost.

    Attributes:
        name: by which the search asks for it.
        sentence: what it is charged for.
        place: what it is charged on: a melody note, a fill, the step between two plucks, a measure, a barline.
        price: what it adds to the path; negative where it is a reward.
    """

    name: str
    sentence: str
    place: Place
    price: int


COSTS: dict[str, Cost] = {
    each.name: each
    for each in (
        # The melody: strong fingers, low frets, its own place in time.
        Cost("melody by unwilling finger", "A finger plays the melody where it does not like to go.", "note", 3),
        Cost("melody by leading thumb", "The thumb leads on string 2, where the index is at home.", "note", 1),
        Cost("melody by index on 3", "The index plays the melody on string 3, where the thumb is stronger.", "note", 4),
        Cost(
            "melody on the drone", "The melody is on the short string, which fills of the same string blur.", "note", 2
        ),
        Cost("melody at another place", "The melody note lies lower elsewhere on the neck.", "note", 2),
        Cost("melody at fret 4", "The little finger frets the melody.", "note", 1),
        Cost("melody up the neck", "The melody is fretted above fret 5, for each fret more.", "note", 1),
        Cost("early", "A melody note comes a slot early.", "note", 8),
        Cost("late", "A melody note comes a slot late.", "note", 9),
        Cost("moved off a strong beat", "The moved note belongs on a strong beat.", "note", 8),
        Cost("crowded melody", "A moved note comes right beside its neighbour.", "note", 4),
        Cost("slurred run", "A melody note is slurred from the one a slot before it.", "note", 4),
        Cost("moved start", "The moved note begins a phrase.", "note", 14),
        Cost("left out a repeat", "A melody note that repeats its neighbour is left out.", "note", 2),
        Cost("left out a passing note", "A passing melody note is left out.", "note", 5),
        Cost("left out in need", "A melody note is left out because no way of playing it was found.", "note", 60),
        # Fills: chord tones, the drone, open strings, and room for the melody.
        Cost("fill by index on 3", "The index fills on string 3, its second home.", "fill", 1),
        Cost("foreign fill", "A fill is no tone of the sounding chord.", "fill", 14),
        Cost("foreign drone", "The drone rings over a chord that has no such tone.", "fill", 1),
        Cost("drone on a strong beat", "The drone falls on a strong beat without the melody.", "fill", 3),
        Cost("drone behind a strong beat", "The drone comes right behind a strong beat.", "fill", 1),
        Cost("thumb inside off the beat", "The thumb fills on a long string where the drone would ring.", "fill", 1),
        Cost("fretted fill", "A fill is fretted.", "fill", 1),
        Cost("fill at fret 4", "A fill stretches the little finger.", "fill", 1),
        Cost("fill cuts the melody", "A fill is picked on the string on which the melody rings.", "fill", 3),
        Cost("fill repeats the melody", "A fill sounds the melody's last pitch again.", "fill", 2),
        Cost("fill tells the melody", "A fill sounds the next melody pitch just before it comes.", "fill", 4),
        # Steps between two plucks.
        Cost("crossed fingers", "The thumb plays above the index, or the index above the middle.", "step", 5),
        # Measures.
        Cost("wooden measure", "Four even melody notes are all struck.", "measure", 16),
        Cost("held note", "A melody note holds two slots in the roll.", "measure", 12),
        Cost("held note without weight", "The held note is neither long nor on a strong beat.", "measure", 6),
        Cost("no named roll", "The fingers follow none of the named rolls.", "measure", 40),
        Cost("empty slots", "Only the melody is played because no roll was found.", "measure", 60),
        Cost("no groups of three", "In a compound metre the fingers do not go by threes.", "measure", 4),
        Cost("no slur or lick", "An advanced measure has neither slur nor lick.", "measure", 20),
        Cost("slur", "A melody note is slurred into, beyond what its place costs.", "measure", 1),
        Cost("slur for a grace note", "A melody note that the tune graces is slurred into.", "measure", -12),
        Cost("lick", "A lick stands in a gap.", "measure", -8),
        Cost("lick of one's own", "The lick is one that the teacher has brought.", "measure", -5),
        Cost("lick off the roll", "The fingers around a lick follow no named roll.", "measure", 4),
        Cost("lick over the barline", "One lick stands in a gap that would else have two.", "measure", -6),
        Cost("taste in licks", "Another lick has its turn; charged up to four times.", "measure", 1),
        Cost("tag", "A lick ends a phrase on the home chord.", "measure", -12),
        Cost("turnaround", "A lick leads from the end of a section back to its beginning.", "measure", -10),
        # The beginner's gaps.
        Cost("gap left empty", "A gap of two beats has neither pinch nor roll.", "measure", 5),
        Cost("pinch", "A pinch beyond the first of its measure.", "measure", 1),
        Cost("beginner's roll", "A gap that a pinch could serve is filled with a roll.", "measure", 2),
        # Barlines.
        Cost("change of roll", "The fingers do not run across the barline as the roll would.", "barline", 2),
        Cost("change of roll within a measure", "A long measure changes its roll in the middle.", "barline", 16),
        Cost("hand moves", "The left hand moves along the neck, for each fret.", "barline", 2),
        Cost("hand off first position", "The left hand stays up the neck, for each fret.", "barline", 1),
    )
}


def cost(name: str) -> int:
    """The price of a cost by its name."""
    return COSTS[name].price
