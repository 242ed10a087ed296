"""A key by which something costly is kept of a solo: the very same object, since to compare two solos takes long."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

__all__ = ["Same"]

T = TypeVar("T")


@dataclass(frozen=True, slots=True, eq=False)
class Same(Generic[T]):
    """Equal to another one where both hold the same object; who keeps the key keeps the object."""

    value: T

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.value is other.value

    def __hash__(self) -> int:
        return id(self.value)
