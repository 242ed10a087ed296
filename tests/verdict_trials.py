"""Trials of verdicts: simulated passes through a solo, heard as takes are, beside the truth.

Every trial has two passes: one by which the listener comes to know the instrument, as it does in practice, and the one
that counts. The lean is known before the pass, as it is live (contract of the report).
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from player_noise import (
    Drift,
    Extra,
    HandModel,
    HeavyTails,
    Jitter,
    Lead,
    Missed,
    OtherFret,
    OtherString,
    PickedAgain,
    Stumble,
    Wander,
)
from player_pickup import ARTEFACTS, Delay, Pickup, Retrigger, Sent
from simulated_pass import Performance, perform
from simulated_player import Lapse, random_lapse, random_restart

from coach.arranging.arrangement import Arrangement
from coach.listening.heard import Latency, Sound
from coach.listening.plan import PassPlan, Settings
from coach.listening.report import Scored, score, score_passes, with_boundaries
from coach.listening.scores import PassResult

__all__ = ["KINDS_OF_TRIAL", "SHIFTS", "Tally", "Trial", "run_trial"]

SHIFTS = ("ahead", "behind", "stopped", "jumped", "left out", "played twice", "restarted")
KINDS_OF_TRIAL = ("spread", "heavy tails", "artefacts", "everything", "shifts")

_DELAYS = (
    Delay(),
    Delay(12.0),
    Delay(3.0, periods=2.0),
    Delay(by_string=((1, 7.0), (2, 8.0), (3, 10.0), (4, 14.0), (5, 6.0))),
)


@dataclass(frozen=True, slots=True)
class Trial:
    """A trial: what is played, how fast, in which manner (:data:`KINDS_OF_TRIAL`), and the seed of all noise."""

    solo: Arrangement
    tempo: float
    kind: str
    seed: int

    @property
    def name(self) -> str:
        return f"{self.kind} {self.solo.tune} {self.solo.tier} {self.tempo:g} {self.seed}"


@dataclass
class Tally:
    """What came of trials.

    Attributes:
        notes, right: expected plucks that count, and how many verdicts agree with the truth.
        truths: how many plucks have which true verdict.
        causes: of the verdicts that do not agree, see :func:`_cause`.
        artefacts, extras: sounds that were no plucks of the player's, and how many of them were told as extras.
        passes, seen: how many passes, and how many of them had a passage told.
    """

    notes: int = 0
    right: int = 0
    truths: Counter[str] = field(default_factory=Counter)
    causes: Counter[str] = field(default_factory=Counter)
    artefacts: int = 0
    extras: Counter[str] = field(default_factory=Counter)
    passes: int = 0
    seen: int = 0

    @property
    def share(self) -> float:
        """The share of verdicts that agree."""
        return self.right / max(1, self.notes)

    def add(self, other: Tally) -> None:
        """Count another tally in."""
        self.notes += other.notes
        self.right += other.right
        self.truths += other.truths
        self.causes += other.causes
        self.artefacts += other.artefacts
        self.extras += other.extras
        self.passes += other.passes
        self.seen += other.seen


def _hands(trial: Trial) -> tuple[HandModel, ...]:
    if trial.kind == "spread":
        return (Jitter(),)
    if trial.kind == "heavy tails":
        return (HeavyTails(),)
    lead = Lead((0.0, 0.01, 0.02, 0.03)[trial.seed % 4])
    if trial.kind == "artefacts":
        return (Jitter(), lead)
    if trial.kind == "shifts":
        return (Jitter(), lead, Missed(), Extra())
    slips = (Missed(), OtherString(), OtherFret(), Extra(), PickedAgain(), Stumble())
    jitter = (Jitter(0.013), HeavyTails(0.013))[trial.seed % 2]
    return (jitter, lead, Wander(), Drift((-0.02, 0.02)[trial.seed // 2 % 2]), *slips)


def _pickup(trial: Trial) -> Pickup:
    if trial.kind not in ("artefacts", "everything"):
        return Pickup()
    rng = random.Random(f"pickup {trial.name}")
    channels = ((1, 2, 3, 4, 5), (11, 12, 13, 14, 15), None)[trial.seed % 3]
    delays = _DELAYS if channels is not None else _DELAYS[:-1]
    return Pickup(
        channels=channels,
        artefacts=ARTEFACTS,
        delay=rng.choice(delays),
        slurs=rng.choice(["note", "bend", "mixed"]),
        passing=0.5,
        retrigger=Retrigger(),
        bend_range=rng.choice([2, 2, 12]),
        note_off=rng.choice(["held", "held", "at once", "never"]),
    )


def _lead_ms(hands: Sequence[HandModel]) -> float:
    return -1000 * sum(model.seconds for model in hands if isinstance(model, Lead))


def run_trial(trial: Trial, *, lean_of_take: bool = False) -> Tally:
    """Play and hear a trial.

    Args:
        trial: the trial.
        lean_of_take: take the median of the take for the player's lean, as a recorded take is heard, in place of the
            lean that is known before the pass.
    """
    hands, pickup = _hands(trial), _pickup(trial)
    lead_ms = _lead_ms(hands)
    length = PassPlan(trial.solo, trial.tempo).tempo_map.seconds(PassPlan(trial.solo, trial.tempo).length)
    plans = [
        PassPlan(trial.solo, trial.tempo, 2.0 + (length + 4.0) * number, number=number + 1, lean_ms=lead_ms)
        for number in range(2)
    ]
    lapse = None
    if trial.kind == "shifts":
        rng = random.Random(f"lapse {trial.name}")
        kind = rng.choice(SHIFTS)
        lapse = random_restart(rng, trial.solo) if kind == "restarted" else random_lapse(rng, kind, trial.solo)
    played = [
        perform(plans[0], hands, pickup, f"{trial.name} before"),
        perform(plans[1], hands, pickup, trial.name, lapse),
    ]
    heard = [pair for number, each in enumerate(played) for pair in each.sounds(pickup, 1_000_000 * number)]
    heard.sort(key=lambda pair: (pair[0].seconds, pair[0].seq))
    delay = pickup.delay
    settings = Settings(Latency(delay.ms, delay.by_string, delay.periods))
    passes = [Scored(plan) for plan in plans]
    sounds = [sound for sound, _ in heard]
    if lean_of_take:
        result = score(passes, sounds, settings=settings).results[1]
    else:
        result = score_passes(with_boundaries(passes), sounds, settings=settings)[1]
    causes = {sound.seq: message for sound, message in heard}
    return _tally(result, played[1], causes, lapse, heard)


def _tally(
    result: PassResult,
    played: Performance,
    messages: dict[int, Sent],
    lapse: Lapse | None,
    heard: Sequence[tuple[Sound, Sent]],
) -> Tally:
    tally = Tally(passes=1, seen=bool(result.passages))
    counted = None if lapse is None else _after_the_first_measure(result.plan, played, lapse)
    for note in result.notes:
        if counted is not None and note.pluck.id not in counted:
            continue
        tally.notes += 1
        truth = played.truth[note.pluck.id]
        tally.truths[truth] += 1
        if note.verdict == truth:
            tally.right += 1
        else:
            tally.causes[_cause(note.pluck.id, note.verdict, truth, note.seq, result, messages)] += 1
    told = {extra.seq for extra in result.extras}
    for sound, message in heard:
        if message.sound is not None and message.sound.cause != "played" and sound.seq >= 1_000_000:
            tally.artefacts += 1
            if sound.seq in told:
                tally.extras[message.sound.cause] += 1
    return tally


def _after_the_first_measure(plan: PassPlan, played: Performance, lapse: Lapse) -> set[str]:
    """The plucks that were meant after the first measure of a shift and before it is over."""
    slot, measure = plan.arrangement.slot, max(each.length for each in plan.measures)
    begins = lapse.begins + lapse.silent
    ends = plan.length / slot if lapse.ends is None else lapse.ends
    if lapse.kind == "stopped":  # what follows counts: the player has come in again
        begins, ends = ends - measure / slot, plan.length / slot
    since, until = plan.tempo_map.seconds(begins * slot + measure), plan.tempo_map.seconds(ends * slot)
    return {stroke.id for stroke in played.strokes if stroke.id is not None and since <= stroke.meant < until}


def _cause(pluck: str, verdict: str, truth: str, seq: int | None, result: PassResult, messages: dict[int, Sent]) -> str:
    """Why a verdict is not the truth, as far as it can be told.

    What was heard for the pluck names the cause where that is an artefact or was meant for something else; else what
    became of the note that was played for it.
    """
    heard = None if seq is None else messages[seq].sound
    if heard is not None and heard.cause != "played":
        return f"{heard.cause} taken for a pluck ({truth} → {verdict})"
    if heard is not None and heard.stroke is None:
        return f"extra note taken for a pluck ({truth} → {verdict})"
    if heard is not None and heard.stroke != pluck:
        return f"another pluck's note ({truth} → {verdict})"
    true = {
        seq
        for seq, message in messages.items()
        if seq >= 1_000_000
        and message.sound is not None
        and message.sound.stroke == pluck
        and message.sound.cause == "played"
    }
    reasons = {dropped.seq: dropped.reason for dropped in result.dropped}
    gone = next((reasons[each] for each in true if each in reasons), None)
    if gone is not None:
        return f"dropped as {gone} ({truth} → {verdict})"
    if seq is None and true:
        where = "note went elsewhere" if not result.passages else "note went elsewhere, with a passage"
        return f"{where} ({truth} → {verdict})"
    return f"time, string or pitch ({truth} → {verdict})"
