"""Which settings come back the next day, as plain values by the names of the wire.

What is known of the instrument is kept with the instrument; which ports are in use is found out anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec

from coach.errors import InputError
from coach.service.protocol import Settings
from coach.service.settings import Chosen, changed

__all__ = ["read_settings", "settings_record", "tune_of"]

_OF_THE_PLAYER = (
    "solo_level",
    "backing_level",
    "click_level",
    "keep_going",
    "out_delay_ms",
    "tolerance_ms",
    "foot_start",
    "foot_again",
    "foot_next",
    "self_marked",
    "free_time",
    "policy",
    "step",
    "clean_needed",
)
_OF_THE_TUNE = ("tier", "tempo", "goal", "floor", "first", "last", "mix", "jam", "with_solo", "with_backing")


def settings_record(chosen: Chosen) -> dict[str, Any]:
    """Settings as they are kept."""
    record = {name: getattr(chosen, name) for name in ("tune", *_OF_THE_PLAYER, *_OF_THE_TUNE)}
    return record | {"mix": list(chosen.mix)}


def tune_of(record: Mapping[str, Any]) -> str:
    """The tune that was chosen; empty where none was."""
    tune = record.get("tune")
    return tune if isinstance(tune, str) else ""


def read_settings(record: Mapping[str, Any], *, of_tune: bool) -> Settings:
    """Settings that were kept, as a message that chooses them again; what cannot be chosen is left out.

    Args:
        record: as :func:`settings_record` gave it, or an older or newer version of this program.
        of_tune: those that belong to the tune that was chosen, in place of those of the player.
    """
    read: dict[str, Any] = {}
    for name in _OF_THE_TUNE if of_tune else _OF_THE_PLAYER:
        try:
            message = msgspec.convert({**read, name: record.get(name)}, Settings)
            changed(Chosen(), message)
        except (msgspec.ValidationError, InputError):
            continue
        read[name] = record.get(name)
    return msgspec.convert(read, Settings)
