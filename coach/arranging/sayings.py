"""Sayings: what a teacher says of a measure, in the words of the trade. Each names the plucks that it is about.

A saying is a sentence without its full stop. Of several ways to say a thing the measure's number chooses one, so that
neighbours differ and the same solo is always explained in the same words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from coach.arranging.grips import shape_fingers
from coach.arranging.scenes import Played, Scene
from coach.arranging.texture import finger_row
from coach.arranging.timeline import Sounding, Sung
from coach.instrument.fretboard import FIRST_FRETS, Place
from coach.instrument.rolls import HELD, named_roll

__all__ = ["Saying", "extras", "opening"]

_MOST_NAMED = 2
_EVEN = 4  # so many even melody notes, all struck, turn wooden in a roll
_STEP = 2  # semitones to a neighbour of the scale
_FEWEST_OF_SHAPE = 2
_MOST_APART = 2  # slots between two places of a pitch that ring into each other
_VALUES = {
    Fraction(1, 4): "a sixteenth",
    Fraction(1, 2): "an eighth",
    Fraction(1): "a quarter",
    Fraction(2): "a half note",
}
_ROOTS_WITHOUT_DRONE = (4, 9)  # over the tonic: B and E in the key of G
_AROUND_SYLLABLES = ' .,;:!?-_"()“”‘’'
_FINGERS = {"T": "thumb", "I": "index finger", "M": "middle finger"}
_REPEAT, _PASSING, _NO_ROOM = "a repeat", "a passing note", "for which the roll has no room"
_SEVERAL = {_REPEAT: "repeats", _PASSING: "passing notes", _NO_ROOM: "for which the roll has no room"}
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


class Saying(NamedTuple):
    """What is said, and the ids of the plucks that it is about."""

    words: str
    plucks: tuple[str, ...] = ()


def opening(scene: Scene) -> Saying:
    """What was done with the melody in a measure, and what it is played in."""
    if not scene.soundings:
        return Saying(
            "Nothing is played here: " + ("the melody rests" if not scene.notes else "there is no room for it")
        )
    if scene.licks and not scene.melodic:
        return _lick(scene, scene.licks[0])
    if not scene.melodic:
        return _without_melody(scene)
    texture = _texture(scene)
    absent = _left_out(scene)
    return Saying(
        f"{texture.words}; {absent.words}" if absent.words else texture.words,
        (*texture.plucks, *absent.plucks),
    )


def extras(scene: Scene) -> list[Saying]:
    """What else is worth saying of a measure, the weightiest first."""
    sayings: tuple[Callable[[Scene], Iterator[Saying]], ...] = (
        _licks_beside_melody,
        _joined,
        _hand,
        _slurs,
        _moved,
        _pinches,
        _two_places,
        _without_drone,
        _shape,
        _fills,
    )
    return [saying for each in sayings for saying in each(scene)]


def _vary(scene: Scene, *ways: str) -> str:
    number = scene.measure.number
    return ways[(number + number // len(ways)) % len(ways)]


def _ids(soundings: Iterable[Sounding]) -> tuple[str, ...]:
    return tuple(each.pluck.id for each in soundings)


def _count(number: int) -> str:
    return _NUMBERS[number] if number < len(_NUMBERS) else str(number)


def _named(sung: Sung) -> str:
    """A melody note by its syllable, or by its beat."""
    if _syllable(sung):
        return f"“{_syllable(sung)}”"
    measure = sung.measure
    missing = measure.meter.length - measure.length if measure.number == 0 else 0  # a pickup counts from its end
    beat, past = divmod(sung.note.at + missing, measure.meter.beat)
    return f"the note after beat {beat + 1}" if past else f"the note on beat {beat + 1}"


def _syllable(sung: Sung) -> str:
    return (sung.note.lyric or "").strip(_AROUND_SYLLABLES)


def _list(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _a(words: str) -> str:
    return f"{'an' if words[0] in 'aeiou' else 'a'} {words}"


def _roll(scene: Scene) -> str | None:
    """The name of the roll that fills the measure with at most one slot held, None for none."""
    row = finger_row(scene.measure, scene.slot)
    silent = sum(
        not any(each.on_slot == scene.start + k * scene.slot for each in scene.soundings)
        for k, finger in enumerate(row)
        if finger == HELD
    )
    return named_roll(row) if silent <= 1 and len(row) > 1 else None


def _texture(scene: Scene) -> Saying:
    """How the melody is carried: bare, beside a lick, in a roll, or in rolls that change."""
    melody = scene.melodic
    ids = _ids(melody)
    every = _every(scene)
    others = [each for each in scene.soundings if not each.melodic and each.pluck.role not in {"pinch", "lick"}]
    roll = _roll(scene)
    if scene.licks and roll is None:
        last = next((sung for _, sung, _ in reversed(scene.notes) if sung.note.kept), None)
        if last is not None and any(gap.since == last.when and gap.ends_phrase for gap in scene.gaps):
            return Saying(f"The phrase ends on {_named(last)}", ids)
        return Saying(f"The melody comes first, {every}", ids)
    if not others:
        words = _vary(scene, "The melody is left as it is", "The bare melody is played", "The tune comes plain")
        return Saying(f"{words}, {every}", ids)
    if roll is not None:
        words = _vary(
            scene,
            f"{_capital(_a(roll))} roll carries the melody, {every}",
            f"The melody runs in {_a(roll)} roll, {every}",
            f"The melody is laid into {_a(roll)} roll, {every}",
        )
        return Saying(words + _under(scene), ids)
    if all(any(gap.since < each.when < gap.until for gap in scene.gaps) for each in others):
        words = _vary(scene, "the fingers roll on while it waits", "a short roll fills the beats that it leaves free")
        return Saying(f"The melody is played as it is, {every}, and {words}", _ids((*melody, *others)))
    if len(others) < len(melody):
        return Saying(f"The melody comes first, {every}, with a little fill between its notes", ids)
    words = _vary(
        scene,
        f"The fingers go from roll to roll to reach the melody, {every}",
        f"No single roll has the fingers that the melody asks for here, so they change; it sounds {every}",
    )
    return Saying(words, ids)


def _every(scene: Scene) -> str:
    """How much of the melody there is."""
    kept = [sung for _, sung, _ in scene.notes if sung.note.kept]
    if not kept:
        return "which runs on from the measure before"
    if len(kept) < len(scene.notes):
        return f"with {_count(len(kept))} of its {_count(len(scene.notes))} notes"
    if len(kept) <= _MOST_NAMED and all(_syllable(sung) for sung in kept):
        return f"here {_list([_named(sung) for sung in kept])}"
    if len(kept) <= _MOST_NAMED:
        return "both notes of it" if len(kept) > 1 else "its one note"
    return _vary(scene, "note for note", f"all {_count(len(kept))} notes of it", "every note in its place")


def _under(scene: Scene) -> str:
    """Where the melody lies in the right hand, when one finger has it all."""
    fingers = {each.pluck.finger for each in scene.melodic if each.pluck.finger is not None}
    if len(fingers) > 1 or len(scene.melodic) == 1:
        return ""
    return "".join(f", all under the {_FINGERS[finger]}" for finger in fingers)


def _left_out(scene: Scene) -> Saying:
    """Which melody notes are left out and why."""
    gone = [(before, sung, after) for before, sung, after in scene.notes if not sung.note.kept]
    if not gone:
        return Saying("")
    reasons = [_why(*each) for each in gone]
    if scene.dense:
        return Saying("the others are left out, so that the strong notes have room")
    if len(gone) > _MOST_NAMED:
        return Saying(
            f"{_count(len(gone))} notes are left out, {_list([_SEVERAL[why] for why in dict.fromkeys(reasons)])}"
        )
    names = _list([f"{_named(sung)}, {why}," for (_, sung, _), why in zip(gone, reasons, strict=True)])
    words = f"{names} {'is' if len(gone) == 1 else 'are'} left out"
    places = [sung.note.at for _, sung, _ in scene.notes]
    if places == [k * scene.measure.length / _EVEN for k in range(_EVEN)]:
        words += _vary(scene, " because four struck in a row turn wooden", " to keep the roll from turning wooden")
    return Saying(words)


def _why(before: Sung | None, sung: Sung, after: Sung | None) -> str:
    """Why a note can be spared."""
    pitch = sung.note.pitch
    near = [each.note.pitch for each in (before, after) if each is not None]
    if pitch in near:
        return _REPEAT
    steps = [abs(pitch - each) for each in near]
    if before is not None and after is not None and max(steps) <= _STEP:
        return _PASSING
    return _NO_ROOM


def _lick(scene: Scene, played: Played) -> Saying:
    """A lick in a measure without melody of its own."""
    own = [each for each in played.soundings if each.measure is scene.measure]
    gap = next((gap for gap in scene.gaps if gap.since <= own[0].when < gap.until), None)
    ends = gap is not None and gap.ends_phrase
    if played.lick is None:
        return Saying("The phrase has ended, and a lick fills the gap" if ends else "A lick fills the gap", _ids(own))
    named = f"{_a(played.lick.character)} lick, “{played.lick.name}”,"
    if played.lick.tag and ends:
        return Saying(_capital(f"{named} is the tag that brings the phrase home"), _ids(own))
    words = _vary(scene, f"while the tune waits {named} fills the gap", f"{named} leads on to the next note")
    return Saying(_capital(words), _ids(own))


def _licks_beside_melody(scene: Scene) -> Iterator[Saying]:
    if scene.melodic:
        yield from (_lick(scene, played) for played in scene.licks)


def _without_melody(scene: Scene) -> Saying:
    """A measure in which no melody note sounds."""
    roll = _roll(scene)
    ids = _ids(scene.soundings)
    why = "The tune holds or rests here" if not scene.notes else "The melody finds no room here"
    if not scene.gaps and not scene.notes:
        why = "There is no melody here"
    if all(len(moment) > 1 for moment in scene.moments()):
        return Saying(f"{why}, and pinches keep the time", ids)
    if roll is None:
        return Saying(f"{why}, and the fingers play on through the gap", ids)
    words = _vary(
        scene,
        f"{why}, so {_a(roll)} roll rings on until the melody comes back",
        f"{why}, and {_a(roll)} roll fills the measure",
    )
    return Saying(words, ids)


def _joined(scene: Scene) -> Iterator[Saying]:
    if scene.joined:
        yield Saying(f"From here on the solo is that of the {scene.measure.tier} tier")


def _slurs(scene: Scene) -> Iterator[Saying]:
    """Slurred notes beside those of licks: the first is told, the others are counted."""
    slurred = [each for each in scene.soundings if not each.picked and each.pluck.role != "lick"]
    if not slurred:
        return
    first = slurred[0]
    sung = next((note for _, note, _ in scene.notes if note.note.pluck == first.pluck.id), None)
    name = _named(sung) if sung is not None else f"string {first.pluck.string}"
    origin = f"fret {first.pluck.from_fret}" if first.pluck.from_fret else "the open string"
    words = {
        "slide": _vary(
            scene, f"{name} is slid into from {origin}, as a voice scoops", f"A slide from {origin} scoops up to {name}"
        ),
        "hammer-on": _vary(
            scene,
            f"{name} is hammered on from {origin}, as a voice leans into it",
            f"A hammer-on from {origin} bends up to {name}",
        ),
        "pull-off": _vary(
            scene,
            f"{name} is pulled off from {origin}, as a voice falls into it",
            f"A pull-off from {origin} bends down to {name}",
        ),
    }[first.pluck.technique]
    if len(slurred) > 1:
        more = _count(len(slurred) - 1)
        words += f", and {more} more {'note is' if len(slurred) == 2 else 'notes are'} slurred"
    yield Saying(_capital(words), _ids(slurred))


def _moved(scene: Scene) -> Iterator[Saying]:
    """Melody notes that come elsewhere than the tune has them."""
    for _, sung, _ in scene.notes:
        moved = sung.note.moved
        if moved is not None:
            step = abs(moved - sung.note.at)
            far = _VALUES.get(step, f"{step} of a quarter")
            when = "early" if moved < sung.note.at else "late"
            plucks = (sung.note.pluck,) if sung.note.pluck else ()
            yield Saying(f"{_capital(_named(sung))} comes {far} {when}, where a finger is free for it", plucks)


def _pinches(scene: Scene) -> Iterator[Saying]:
    pinches = [moment for moment in scene.moments() if len(moment) > 1]
    if not pinches or not scene.melodic:
        return
    ids = _ids(each for moment in pinches for each in moment)
    with_melody = sum(any(each.melodic for each in moment) for moment in pinches)
    many = "A pinch" if len(pinches) == 1 else f"{_capital(_count(len(pinches)))} pinches"
    s = "s" if len(pinches) == 1 else ""
    if with_melody == len(pinches):
        yield Saying(f"{many} give{s} weight to the melody", ids)
    else:
        yield Saying(
            _vary(scene, f"{many} answer{s} where the melody holds", f"{many} keep{s} the beat under the long note"),
            ids,
        )


def _two_places(scene: Scene) -> Iterator[Saying]:
    """The same pitch on two strings, one soon after the other."""
    for one, other in pairwise(scene.soundings):
        close = other.when - one.when <= _MOST_APART * scene.slot
        if close and one.pluck.pitch == other.pluck.pitch and one.pluck.string != other.pluck.string:
            places = _list([_place(one), _place(other)])
            yield Saying(f"One pitch is taken in two places, {places}, so that it rings on", _ids((one, other)))
            return


def _place(sounding: Sounding) -> str:
    pluck = sounding.pluck
    return f"string {pluck.string} fret {pluck.fret}" if pluck.fret else f"string {pluck.string} open"


def _without_drone(scene: Scene) -> Iterator[Saying]:
    drone = scene.tuning.open_pitch(5) % 12
    if scene.key_pc != drone or any(each.pluck.string == 5 for each in scene.soundings):
        return
    for chord in scene.chords:
        third = (chord.root_pc + 4) % 12 in chord.pitch_classes
        if third and (chord.root_pc - drone) % 12 in _ROOTS_WITHOUT_DRONE and _roll(scene):
            yield Saying(f"The drone is left out, because it grates over {chord.symbol}")


def _hand(scene: Scene) -> Iterator[Saying]:
    """That the left hand leaves the first frets, or comes back."""
    stopped = [each for each in scene.soundings if each.pluck.fret]
    if not stopped:
        return
    frets = [each.pluck.fret for each in stopped]
    up, was_up = max(frets) > FIRST_FRETS, max(scene.stopped_before, default=0) > FIRST_FRETS
    if up and not was_up:
        yield Saying(f"The left hand goes up to fret {min(frets)}, where the high notes lie", _ids(stopped))
    elif was_up and not up:
        yield Saying("The left hand comes back to the first frets", _ids(stopped))


def _shape(scene: Scene) -> Iterator[Saying]:
    """That a chord's shape is held."""
    stopped = [each for each in scene.soundings if each.pluck.fret]
    places = {Place(each.pluck.string, each.pluck.fret) for each in stopped}
    if len(scene.chords) == 1 and len(places) >= _FEWEST_OF_SHAPE:
        (chord,) = scene.chords
        if places <= set(shape_fingers(chord, scene.tuning)):
            yield Saying(f"The left hand holds the {chord.symbol} shape", _ids(stopped))


def _fills(scene: Scene) -> Iterator[Saying]:
    """What is played while the tune waits behind a note of the measure."""
    for gap in scene.gaps:
        inside = [
            each
            for each in scene.soundings
            if gap.since < each.when < gap.until and not each.melodic and each.pluck.role in {"fill", "drone"}
        ]
        waits = next((sung for _, sung, _ in scene.notes if sung.when == gap.since), None)
        if inside and waits is not None and _roll(scene):
            words = _vary(
                scene,
                f"While {_named(waits)} is held the roll goes on",
                f"The roll fills the beats behind {_named(waits)}",
                f"The roll keeps time until {_named(waits)} has been held out",
            )
            yield Saying(words, _ids(inside))
            return
