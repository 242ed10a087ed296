"""Learning an instrument in a session: a run like a pass, of sixteen notes to the click, that no folder keeps."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from coach.arranging.arrangement import ArrangedMeasure, Arrangement, ChordAt, Finger, Pluck
from coach.arranging.files import digest
from coach.instrument.tuning import OPEN_G
from coach.listening.calibration import CLICKS, TEMPO, Calibration, calibrate
from coach.listening.events import Event
from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, HeardNote, Latency, Sound, StringChannels
from coach.listening.plan import PassPlan
from coach.service.accompany import Levels, clicks, lead_of
from coach.service.from_service import Calibrated, StringLearned
from coach.service.jobs import Solo
from coach.service.midi_out import TimedMidi
from coach.service.orders import Order
from coach.service.pages import Page
from coach.service.settings import Chosen
from coach.takes.grid import click_tempo
from coach.takes.sessions import Instrument
from coach.tunes.chords import read_chord
from coach.tunes.tune import Meter

__all__ = ["CalibratingEar", "calibrated", "learning_order"]

FIRST_NUMBER = 1_000_000
"""Numbers on the wire of runs that are no passes, which count from 1."""

LEAST_CLICK = 0.5
"""How loud the click is at least, 0 to 1: who does not hear it cannot play to it."""

_BEATS = 4
_FINGERS: dict[int, Finger] = {1: "M", 2: "I", 3: "T", 4: "T", 5: "T"}


def learning_order(
    count: int,
    chosen: Chosen,
    channels: StringChannels | None,
    sounder: Page | None,
    send: Callable[[list[TimedMidi]], None] | None,
) -> Order:
    """What is played to learn an instrument: a count-in, and a click for each note.

    Args:
        count: how many times it was done before.
        chosen: the settings.
        channels: of the strings; None where they do not tell strings, or it is not known yet.
        sounder: the page that sounds the click; None for the service.
        send: takes timed MIDI, where the service sounds the click on a port.
    """
    solo = _strings_in_turn()
    plan = PassPlan(solo.arrangement, click_tempo(TEMPO))
    return Order(
        number=FIRST_NUMBER + count,
        solo=solo,
        plan=plan,
        tempo=TEMPO,
        parts=clicks(plan),
        levels=Levels(max(chosen.click_level, LEAST_CLICK), 0.0, 0.0),
        lead=lead_of(plan),
        listen=lambda placed: CalibratingEar(placed, finds_channels=chosen.string_channels == "auto"),
        tolerance_ms=None,
        instrument=Instrument("", channels, Latency()),
        self_marked=False,
        sounder=sounder,
        send=send,
        out_delay=chosen.out_delay_ms / 1000,
        is_kept=False,
    )


class CalibratingEar:
    """Hears sixteen notes to the click.

    Args:
        plan: of the run, with its place in time.
        finds_channels: whether notes on several of the channels 1 to 5 tell strings, where it is not known beforehand.

    Attributes:
        calibration: what was learned; None before the end, and where the player stopped.
        stopped_at: where the player stopped, None where they did not.
    """

    def __init__(self, plan: PassPlan, *, finds_channels: bool) -> None:
        heard = plan.tempo_map_from(plan.origin)
        self.calibration: Calibration | None = None
        self.stopped_at: float | None = None
        self._clicks = [heard.seconds(Fraction(beat)) for beat in range(CLICKS)]
        self._end = heard.seconds(Fraction(CLICKS))
        self._finds_channels = finds_channels
        self._notes: list[HeardNote] = []
        self._is_over = False

    @property
    def is_over(self) -> bool:
        """Whether nothing more is waited for."""
        return self._is_over

    def take(self, sound: Sound) -> list[Event]:
        """Take a note or a bend."""
        if isinstance(sound, HeardNote):
            self._notes.append(sound)
        return []

    def watermark(self, seconds: float) -> list[Event]:
        """Take the word that nothing with a stamp before ``seconds`` will come."""
        if seconds >= self._end:
            self.finish()
        return []

    def stop(self, seconds: float) -> list[Event]:
        """The player stops: nothing is learned of some of the notes."""
        if not self._is_over:
            self.stopped_at, self._is_over = seconds, True
        return []

    def finish(self, end: float | None = None) -> list[Event]:
        """Nothing more will come; where that is before the end, nothing is learned."""
        if not self._is_over:
            self._is_over = True
            if end is None or end >= self._end:
                self.calibration = calibrate(self._clicks, self._on_strings())
        return []

    def _on_strings(self) -> Sequence[HeardNote]:
        strings = {channel: string for string, channel in enumerate(STRINGS_ON_OWN_CHANNELS, 1)}
        on_own = [note for note in self._notes if note.channel in strings]
        if not self._finds_channels or len({note.channel for note in on_own}) < 2:
            return self._notes
        return [replace(note, string=strings[note.channel]) for note in on_own]


def calibrated(found: Calibration, name: str) -> Calibrated:
    """What was learned, as pages are told; numbers to a tenth of a millisecond."""
    ms = dict(found.latency.by_string)
    return Calibrated(
        instrument=name,
        trusted=found.trusted,
        sentence=found.sentence,
        lag_ms=round(found.lag_ms, 1),
        error_ms=round(found.error_ms, 1),
        spread_ms=round(found.spread_ms, 1),
        latency_ms=round(found.latency_ms, 1),
        latency_from_ms=round(found.latency_from_ms, 1),
        latency_to_ms=round(found.latency_to_ms, 1),
        lean_ms=round(found.lean_ms, 1),
        by_string=[
            StringLearned(each.string, ms[each.string], round(each.spread_ms, 1), each.count) for each in found.strings
        ],
        offsets_ms=[None if lag is None else round(lag, 1) for lag in found.offsets_ms],
    )


def _strings_in_turn() -> Solo:
    """The open strings 1 2 3 4 5 in turn, one a beat: what the player is asked for."""
    measures = []
    for number in range(1, CLICKS // _BEATS + 1):
        plucks = []
        for beat in range(_BEATS):
            string = ((number - 1) * _BEATS + beat) % 5 + 1
            plucks.append(
                Pluck(
                    id=f"m{number}e{beat + 1}",
                    at=Fraction(beat),
                    length=Fraction(1),
                    string=string,
                    fret=0,
                    pitch=OPEN_G.open_pitch(string),
                    finger=_FINGERS[string],
                    role="fill",
                )
            )
        chords = (ChordAt(Fraction(0), read_chord("G")),)
        meter = Meter(_BEATS, 4)
        measures.append(ArrangedMeasure(number, number, meter, Fraction(_BEATS), "beginner", chords, (), tuple(plucks)))
    arrangement = Arrangement(
        tune="strings-in-turn",
        title="Strings in turn",
        rights="",
        tier="beginner",
        key="G major",
        sounding_key=None,
        capo=0,
        meter=Meter(_BEATS, 4),
        slot=Fraction(1),
        source_scale=Fraction(1),
        bounce=50,
        tuning=OPEN_G,
        remarks=(),
        measures=tuple(measures),
    )
    return Solo(arrangement, digest(arrangement), b"")
