"""A simulated pass: hands that err, an instrument that mishears, the messages it sends, and the truth of it all.

The strokes are those that the solo asks for (:mod:`simulated_player`, which also loses the place); models of
:mod:`player_noise` change them one after the other, an instrument of :mod:`player_pickup` hears them. What the verdict
on each pluck should be is worked out from the strokes themselves (:mod:`player_truth`); nothing of the listener enters.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass, field

from player_noise import HandModel, Loudness, Neck, Stroke
from player_pickup import Pickup, Sent, messages
from player_truth import true_verdicts
from simulated_player import Lapse, strokes_due

from coach.listening.heard import Decoder, Sound
from coach.listening.plan import PassPlan

__all__ = ["Performance", "perform", "wire_bytes"]


@dataclass(frozen=True, slots=True)
class Performance:
    """A pass as it was really played.

    Attributes:
        strokes: what was done, in order of what was meant; what was missed is among them.
        sent: the messages of the instrument.
        truth: by the id of a pluck of the pass its verdict.
        offsets: by the id the true offset in seconds of what was played for it.
    """

    strokes: tuple[Stroke, ...]
    sent: tuple[Sent, ...]
    truth: dict[str, str]
    offsets: dict[str, float] = field(default_factory=dict)

    def sounds(self, pickup: Pickup, since: int = 0) -> list[tuple[Sound, Sent]]:
        """The notes and bends of the messages, numbered from ``since`` on, each with its message."""
        decoder = Decoder(pickup.channels)
        heard = []
        for seq, message in enumerate(self.sent, since):
            sound = decoder.feed(message.seconds, message.data, seq)
            if sound is not None:
                heard.append((sound, message))
        return heard


def perform(
    plan: PassPlan,
    hands: Sequence[HandModel],
    pickup: Pickup,
    seed: str,
    lapse: Lapse | None = None,
) -> Performance:
    """Play a pass.

    Args:
        plan: what should be played; its lean is what the verdicts of time are told with.
        hands: models of the player, in the order in which they act; loudness comes last of itself.
        pickup: the instrument.
        seed: of all random numbers.
        lapse: where the player loses the place, if so.
    """
    neck = Neck(plan.arrangement)
    strokes = _as_written(plan, random.Random(f"{seed} lapse"), lapse)
    for model in (*hands, Loudness()):
        strokes = model.play(strokes, random.Random(f"{seed} {model}"), neck)
    done = [stroke for stroke in strokes if stroke.slip != "missed"]
    sent = messages(pickup, pickup.hear(done, seed, neck))
    truth, offsets = true_verdicts(
        plan, done, tells_strings=pickup.channels is not None, shows_slurs=pickup.slurs != "none"
    )
    return Performance(tuple(strokes), tuple(sent), truth, offsets)


def _as_written(plan: PassPlan, rng: random.Random, lapse: Lapse | None) -> list[Stroke]:
    """The strokes that the player means, all right and in time."""
    strokes: list[Stroke] = []
    last: dict[int, int] = {}
    for seconds, pluck in strokes_due(plan, rng, lapse):
        by_left = pluck.technique != "pick"
        source = last.get(pluck.string) if by_left else None
        if source is not None and strokes[source].by_left:
            source = strokes[source].pick
        stroke = Stroke(pluck, seconds, seconds, pluck.pitch, pluck.string, pick=source, by_left=by_left)
        last[pluck.string] = len(strokes)
        strokes.append(stroke)
    return strokes


def wire_bytes(sent: Sequence[Sent], rng: random.Random) -> list[tuple[float, bytes]]:
    """The same messages as they run over a wire: a list of portions of bytes, each with its time.

    With running status (a status byte that is the same as before is left out), active sensing every 300 ms at most, and
    clock bytes anywhere, also inside a message (MIDI 1.0, from memory); now and then two messages come in one portion
    or one in two.
    """
    portions: list[tuple[float, bytes]] = []
    running = -1
    for message in sent:
        data = bytearray(message.data if message.data[0] != running else message.data[1:])
        running = message.data[0]
        if rng.random() < 0.2:
            data.insert(rng.randrange(len(data) + 1), 0xF8)
        if rng.random() < 0.1:
            portions.append((max(0.0, message.seconds - 0.0005), b"\xfe"))
        cut = rng.randrange(1, len(data)) if len(data) > 1 and rng.random() < 0.1 else len(data)
        portions += [(message.seconds, bytes(part)) for part in (data[:cut], data[cut:]) if part]
    return portions
