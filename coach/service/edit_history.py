"""The edits of a tune as they came to be: a step back is an older value, a step forth the one that was left."""

from __future__ import annotations

from dataclasses import dataclass, replace

from coach.arranging.edits import Edits

__all__ = ["History", "kept_history"]

_MOST = 200  # steps that are remembered


@dataclass(frozen=True, slots=True)
class History:
    """Values of edits, the oldest first.

    Attributes:
        values: at least one.
        index: of the one that holds now.
        forgotten: how many older ones there were.
    """

    values: tuple[Edits, ...]
    index: int = 0
    forgotten: int = 0

    @property
    def steps(self) -> int:
        """How many changes lie behind what holds."""
        return self.forgotten + self.index

    @property
    def now(self) -> Edits:
        """The edits that hold."""
        return self.values[self.index]

    @property
    def older(self) -> Edits | None:
        """The edits before the last change; None where there is none."""
        return self.values[self.index - 1] if self.index else None

    @property
    def newer(self) -> Edits | None:
        """The edits that were taken back last; None where there are none."""
        return self.values[self.index + 1] if self.index + 1 < len(self.values) else None

    def then(self, edits: Edits) -> History:
        """The history with a change more; what was taken back is gone."""
        values = (*self.values[: self.index + 1], edits)
        kept = values[-_MOST:]
        return History(kept, len(kept) - 1, self.forgotten + len(values) - len(kept))

    def back(self) -> History:
        """The history one step back, where there is one."""
        return replace(self, index=max(0, self.index - 1))

    def forth(self) -> History:
        """The history one step forth, where there is one."""
        return replace(self, index=min(len(self.values) - 1, self.index + 1))


def kept_history(edits: Edits) -> History:
    """The history of edits that were kept: as if they had been made one by one, in their order."""
    first = max(0, len(edits.edits) - _MOST + 1)
    values = tuple(replace(edits, edits=edits.edits[:count]) for count in range(first, len(edits.edits) + 1))
    return History(values, len(values) - 1, first)
