"""What may be plucked in a slot: places of melody notes and fills on the neck, priced, for the search."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from coach.arranging.costs import cost
from coach.arranging.picks import PINCHES, Layer, Option, layer
from coach.arranging.slurs import SLURS
from coach.instrument.fretboard import FIRST_FRETS, HIGHEST_FRET, LONG_STRINGS, Place, places
from coach.instrument.hands import AT_NEED, FINGERS, RELUCTANCE, SPAN, STRETCH, Finger
from coach.instrument.tuning import Tuning

__all__ = ["ANYWHERE", "FILL_STRINGS", "OFF_BEAT", "Neck", "Reach", "find_neck", "reach_of"]

# The lowest and highest fret that the left hand reaches; open strings are always within reach.
Reach = tuple[int, int]
# Fills are played where a finger is at home; what it does at need, or leading, it does for the melody.
FILL_STRINGS: Mapping[Finger, tuple[int, ...]] = {"T": (5, 4, 3), "I": (3, 2), "M": (1,)}
OFF_BEAT = 2  # slots behind a strong beat from which on a fill is free of it
ANYWHERE: Reach = (1, HIGHEST_FRET)
_FULL_FRET = 4
_DRONE = 5
_LEAD = 2  # the string on which the thumb plays melody only
_SHARED = 3  # the string of the thumb on which the index plays too


def reach_of(hand: int, other: int | None = None) -> Reach:
    """The frets under a hand, or those under it in both of two positions while it moves."""
    if other is None:
        return (hand, hand + SPAN)
    return (max(hand, other), min(hand, other) + SPAN)


class Neck:
    """The neck of one tuning and capo; remembers what it has worked out.

    Pitches count from the capo: the pitch of an open string is that of the tuning.

    Attributes:
        tuning: of the open strings.
        drone: the pitch class of the short string.
        slurred_pitches: those that some slur ends on.
        lean: what every drone costs besides; negative where the drone shall ring more often.
    """

    def __init__(self, tuning: Tuning, capo: int, lean: int = 0) -> None:
        self.tuning = tuning
        self.slurred_pitches = frozenset(tuning.open_pitch(slur.string) + slur.to_fret for slur in SLURS)
        self.lean = lean
        self.drone = tuning.open_pitch(5) % 12
        self._top = HIGHEST_FRET - capo
        self._melody: dict[tuple[int, Reach, bool], tuple[Option, ...]] = {}
        self._fills: dict[tuple[frozenset[int], Reach, int, int | None, int | None], tuple[Option, ...]] = {}
        self._layers: dict[tuple[object, ...], Layer] = {}
        self._runs: dict[tuple[int, int, tuple[Reach, Reach]], bool] = {}

    def melody_layer(self, slot: int, pitch: int, reach: Reach, note: int, *, run: bool, together: bool) -> Layer:
        """The layer of a melody note; its fingers are free when it is part of a run on one string."""
        key = (slot, pitch, reach, note, run, together)
        known = self._layers.get(key)
        if known is None:
            options = self.melody(pitch, reach, run=run)
            known = self._layers[key] = layer(slot, options, "melody", note=note, together=together)
        return known

    def slurred_layer(self, slot: int, pitch: int, reach: Reach, note: int) -> Layer:
        """The layer of a melody note that is slurred into."""
        key = (slot, pitch, reach, note)
        known = self._layers.get(key)
        if known is None:
            known = self._layers[key] = layer(slot, self.slurred(pitch, reach), "melody", note=note)
        return known

    def tied_layer(self, slot: int, pitches: tuple[int, int], reaches: tuple[Reach, Reach], note: int) -> Layer:
        """The layer of a melody note from which the next one is slurred a slot later, on the same string."""
        key = (slot, pitches, reaches, note)
        known = self._layers.get(key)
        if known is None:
            steps = pitches[1] - pitches[0]
            low, high = reaches[1]
            found = [
                option._replace(technique="hammer-on" if steps > 0 else "pull-off", to_fret=fret, slow=True)
                for option in self.melody(pitches[0], reaches[0])
                for fret in (option.fret + steps,)
                if option.state % 6 != _DRONE and (fret == 0 or low <= fret <= high)
            ]
            known = self._layers[key] = layer(slot, found, "melody", note=note)._replace(tied=True)
        return known

    def slurred(self, pitch: int, reach: Reach) -> list[Option]:
        """Every finger and slur that ends on a melody pitch, priced; a slide takes the hand a fret beyond its reach."""
        low, high = reach
        found = []
        for technique, string, from_fret, to_fret, price in SLURS:
            if self.tuning.open_pitch(string) + to_fret != pitch:
                continue
            highest = high + (STRETCH - SPAN if technique == "slide" else 0)
            if (from_fret and not low <= from_fret <= high) or (to_fret and not low <= to_fret <= highest):
                continue
            found += [
                Option(6 * number + string, price + self._finger_price(finger, string), from_fret, technique, to_fret)
                for number, finger in enumerate(FINGERS)
                if string in RELUCTANCE[finger]
            ]
        return found

    def fill_layer(
        self, slot: int, tones: frozenset[int], reach: Reach, *, beat: int, rings: int | None, near: int | None
    ) -> Layer:
        """The layer of a fill."""
        key = (slot, tones, reach, beat, rings, near)
        known = self._layers.get(key)
        if known is None:
            options = self.fills(tones, reach, beat=beat, rings=rings, near=near)
            known = self._layers[key] = layer(slot, options, "fill")
        return known

    def melody(self, pitch: int, reach: Reach, *, run: bool = False) -> tuple[Option, ...]:
        """Every finger and place for a melody pitch within reach, priced."""
        key = (pitch, reach, run)
        known = self._melody.get(key)
        if known is None:
            known = self._melody[key] = tuple(self._melody_options(pitch, reach, run=run))
        return known

    def fills(
        self, tones: frozenset[int], reach: Reach, *, beat: int, rings: int | None, near: int | None
    ) -> tuple[Option, ...]:
        """Every finger and string for a fill, each at its best fret, priced.

        Args:
            tones: pitch classes of the sounding chord.
            reach: of the left hand.
            beat: slots since the last strong beat, OFF_BEAT for two and more.
            rings: the melody pitch that rings, if any.
            near: the melody pitch of the next slot, if any.
        """
        key = (tones, reach, beat, rings, near)
        known = self._fills.get(key)
        if known is None:
            known = self._fills[key] = tuple(self._fill_options(tones, reach, beat=beat, rings=rings, near=near))
        return known

    def pinch_layer(self, slot: int, tones: frozenset[int], reach: Reach) -> Layer:
        """The layer of a pinch: the thumb with the middle finger on string 1, both on chord tones where they can."""
        key = (slot, tones, reach)
        known = self._layers.get(key)
        if known is None:
            options = self.fills(tones, reach, beat=OFF_BEAT, rings=None, near=None)
            known = self._layers[key] = layer(
                slot,
                [
                    Option(PINCHES[low.state, high.state], low.price + high.price, low.fret, pinched=(high.fret,))
                    for low in options
                    for high in options
                    if (low.state, high.state) in PINCHES
                ],
                "pinch",
            )
        return known

    def in_reach(self, pitch: int, reach: Reach) -> bool:
        """Whether a pitch has a place within reach."""
        return bool(self.melody(pitch, reach))

    def lowest(self, pitch: int) -> int:
        """The lowest fret at which a pitch sounds on a long string; a large number where it has none."""
        frets = [pitch - self.tuning.open_pitch(string) for string in LONG_STRINGS]
        return min((fret for fret in frets if 0 <= fret <= self._top), default=HIGHEST_FRET + 1)

    def run_together(self, one: int, other: int, reaches: tuple[Reach, Reach]) -> bool:
        """Whether two melody notes a slot apart may share a string: neither has a place on frets 0 to 5 elsewhere."""
        key = (one, other, reaches)
        known = self._runs.get(key)
        if known is None:
            near = {place.string for pitch in (one, other) for place in self._near(pitch)}
            shared = {o.state % 6 for o in self.melody(one, reaches[0], run=True)} & {
                o.state % 6 for o in self.melody(other, reaches[1], run=True)
            }
            known = self._runs[key] = bool(shared) and (not near or (len(near) == 1 and shared <= near))
        return known

    def can_follow(self, one: int, other: int, reach: Reach) -> bool:
        """Whether two melody notes a slot apart can be picked on different strings, or share one by the exception."""
        strings = [{option.state % 6 for option in self.melody(pitch, reach)} for pitch in (one, other)]
        return len(strings[0] | strings[1]) > 1 or self.run_together(one, other, (reach, reach))

    def _near(self, pitch: int) -> tuple[Place, ...]:
        return places(self.tuning, pitch, highest_fret=FIRST_FRETS)

    def drone_suits(self, tones: frozenset[int]) -> bool:
        """Whether the drone may ring over a chord: not over E, E7, B and B7 in the key of G, and their like."""
        clash = {(self.drone + 1) % 12} <= tones
        return not clash and not {(self.drone + 4) % 12, (self.drone + 8) % 12} <= tones

    def _melody_options(self, pitch: int, reach: Reach, *, run: bool) -> list[Option]:
        low, high = reach
        found = []
        best = self.lowest(pitch)
        for string in (1, 2, 3, 4, 5):
            fret = pitch - self.tuning.open_pitch(string)
            if not (fret == 0 or low <= fret <= high) or fret > self._top or (string == 5 and fret):
                continue
            price = cost("melody at another place") if fret > best and string != 5 else 0
            price += cost("melody on the drone") if string == 5 else 0
            if fret >= _FULL_FRET:
                price += cost("melody at fret 4") + cost("melody up the neck") * max(0, fret - FIRST_FRETS + 1)
            for number, finger in enumerate(FINGERS):
                if run or string in RELUCTANCE[finger]:
                    found.append(Option(6 * number + string, price + self._finger_price(finger, string), fret))
        return found

    def _finger_price(self, finger: Finger, string: int) -> int:
        """What a finger costs that plays the melody on a string."""
        if finger == "T" and string == _LEAD:
            return cost("melody by leading thumb")
        price = cost("melody by unwilling finger") * RELUCTANCE[finger].get(string, AT_NEED)
        return price + (cost("melody by index on 3") if finger == "I" and string == _SHARED else 0)

    def _fill_options(
        self, tones: frozenset[int], reach: Reach, *, beat: int, rings: int | None, near: int | None
    ) -> list[Option]:
        found = []
        ringing = self._string_of(rings)
        for string in (1, 2, 3, 4, 5):
            fret, price = self._fill_fret(string, tones, reach)
            if fret is None:
                continue
            pitch = self.tuning.open_pitch(string) + fret
            if string == ringing:
                price += cost("fill cuts the melody")
            if pitch == rings:
                price += cost("fill repeats the melody")
            if pitch == near:
                price += cost("fill tells the melody")
            if string == 5 and beat < OFF_BEAT:
                price += cost("drone on a strong beat") if beat == 0 else cost("drone behind a strong beat")
            for number, finger in enumerate(FINGERS):
                if string not in FILL_STRINGS[finger]:
                    continue
                extra = 0
                if finger == "I" and string == _SHARED:
                    extra += cost("fill by index on 3")
                if finger == "T" and string != 5 and beat:
                    extra += cost("thumb inside off the beat")
                found.append(Option(6 * number + string, price + extra, fret))
        return found

    def _fill_fret(self, string: int, tones: frozenset[int], reach: Reach) -> tuple[int | None, int]:
        """The best fret for a fill on a string, and its price; None where the string stays silent."""
        open_pitch = self.tuning.open_pitch(string)
        if string == 5:
            if not self.drone_suits(tones):
                return None, 0
            return 0, self.lean + (0 if open_pitch % 12 in tones else cost("foreign drone"))
        if open_pitch % 12 in tones:
            return 0, 0
        low, high = reach
        for fret in range(low, min(high, self._top) + 1):
            if (open_pitch + fret) % 12 in tones:
                return fret, cost("fretted fill") + (cost("fill at fret 4") if fret >= _FULL_FRET else 0)
        return 0, cost("foreign fill")

    def _string_of(self, pitch: int | None) -> int | None:
        """The long string on which a pitch lies lowest."""
        if pitch is None:
            return None
        strings = [s for s in LONG_STRINGS if 0 <= pitch - self.tuning.open_pitch(s) <= self._top]
        return min(strings, key=lambda s: pitch - self.tuning.open_pitch(s), default=None)


@lru_cache(maxsize=64)
def find_neck(tuning: Tuning, capo: int, lean: int = 0) -> Neck:
    """The neck of a tuning and capo, with what it has worked out before.

    Args:
        tuning: of the open strings.
        capo: its fret.
        lean: what every drone costs besides; negative where the drone shall ring more often.
    """
    return Neck(tuning, capo, lean)
