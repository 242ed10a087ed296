"""Alignment in free time of a real performance, beside the matchers of the parangonar package on the same piece.

The performance is ``mozart_k265_var1.match`` (Mozart, K. 265, variation 1: 218 written and 219 played notes in running
sixteenths, both hands), which ships with parangonar 3.4.0 under Apache-2.0 together with its note alignment; that it is
human is the package's word. F1 = 2PR / (P + R) over matched pairs of notes, by parangonar's own ``fscore_alignments``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pytest

from coach.listening.alignment import align, note_pairs
from coach.listening.follower import Decided, Follower
from coach.listening.path import Onset, Sounded

# The libraries warn about their own use of others.
pytestmark = pytest.mark.filterwarnings("ignore")

Label = dict[str, str]


@dataclass(frozen=True)
class Piece:
    """A performance with its truth, in the library's words and in ours, and how to measure an alignment."""

    score: Any
    performance: Any
    onsets: tuple[Onset, ...]
    ids: tuple[tuple[str, ...], ...]
    notes: tuple[Sounded, ...]
    note_ids: tuple[str, ...]
    f1: Callable[[list[Label]], float]

    def labels(self, pairs: list[tuple[int, int, int]]) -> list[Label]:
        return [{"label": "match", "score_id": self.ids[j][k], "performance_id": self.note_ids[i]} for i, j, k in pairs]


@pytest.fixture(scope="module")
def piece() -> Piece:
    import parangonar
    import partitura

    performance, truth, score = partitura.load_match(parangonar.EXAMPLE, create_score=True)
    written, played = score[0].note_array(include_grace_notes=True), performance.note_array()
    by_onset: dict[float, list[tuple[int, str]]] = defaultdict(list)
    for note in written:
        by_onset[float(note["onset_quarter"])].append((int(note["pitch"]), str(note["id"])))
    positions = sorted(by_onset)
    order = sorted(range(len(played)), key=lambda i: (played[i]["onset_sec"], played[i]["pitch"]))
    return Piece(
        written,
        played,
        tuple(Onset(at, tuple(pitch for pitch, _ in by_onset[at])) for at in positions),
        tuple(tuple(name for _, name in by_onset[at]) for at in positions),
        tuple(Sounded(float(played[i]["onset_sec"]), int(played[i]["pitch"])) for i in order),
        tuple(str(played[i]["id"]) for i in order),
        lambda labels: float(parangonar.fscore_alignments(labels, truth, types=["match"])[2]),
    )


def test_the_piece_is_the_one_that_was_described(piece: Piece) -> None:
    assert (len(piece.score), len(piece.performance)) == (218, 219)


def test_aligned_offline_as_well_as_by_the_offline_matchers(piece: Piece) -> None:
    import parangonar

    ours = piece.f1(piece.labels(note_pairs(piece.onsets, piece.notes, align(piece.onsets, piece.notes))))
    theirs = {
        matcher.__name__: piece.f1(matcher()(piece.score, piece.performance))
        for matcher in (parangonar.DualDTWNoteMatcher, parangonar.AutomaticNoteMatcher)
    }

    assert ours >= 0.99
    assert ours >= min(theirs.values()) - 0.01, theirs


def test_followed_online_as_well_as_by_the_online_matchers(piece: Piece) -> None:
    import parangonar

    follower = Follower(piece.onsets)
    events = []
    for seq, note in enumerate(piece.notes):
        follower.hear(note, seq)
        events += follower.watermark(note.seconds)
    events += follower.finish()
    pairs: list[tuple[int, int, int]] = []
    used: set[tuple[int, int]] = set()
    for event in events:
        if isinstance(event, Decided) and event.onset is not None:
            pitches = piece.onsets[event.onset].pitches
            free = (
                k
                for k, pitch in enumerate(pitches)
                if pitch == piece.notes[event.note].pitch and (event.onset, k) not in used
            )
            k = next(free, None)
            if k is not None:
                used.add((event.onset, k))
                pairs.append((event.note, event.onset, k))
    ours = piece.f1(piece.labels(pairs))
    with_tempo = piece.f1(parangonar.TOLTWMatcher(piece.score).offline(piece.performance))
    without_tempo = piece.f1(parangonar.OLTWMatcher(piece.score).offline(piece.performance))

    assert ours >= 0.99
    assert ours >= with_tempo - 0.01
    assert ours >= without_tempo
