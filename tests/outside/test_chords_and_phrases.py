"""Chords and phrases that are found, beside those that outside sources tell.

Sources, read where music21 installs them, nothing copied: the public-domain lead sheet ``leadSheet/fosterBrownHair``,
tunes 80 and 81 of ``nottingham-dataset/reelsa-c`` (chords), and a sample of ``essenFolksong`` whose lines are phrases.
Limits lie a little under what was measured; each is above a plain yardstick of the same run.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

from coach.tunes.read import read_book, read_tune


def script(name: str) -> ModuleType:
    """A script of the bench, loaded by its path."""
    spec = importlib.util.spec_from_file_location(name, Path(__file__).parent.parent / "bench" / f"{name}.py")
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_the_roots_of_a_lead_sheet_and_of_two_reels_are_found_again() -> None:
    measure = script("measure_chords")
    book = read_book(measure.CORPUS / "nottingham-dataset" / "reelsa-c.abc")
    reels = [entry.tune for entry in book if entry.number in {80, 81}]
    tunes = [read_tune(measure.LEAD_SHEET), *reels]
    assert len(tunes) == 3
    assert all(measure.has_chords(tune) for tune in tunes)
    total = {name: measure.Agreement() for name in measure.FINDERS}
    for tune in tunes:
        for name, finder in measure.FINDERS.items():
            total[name] = total[name].plus(measure.agreement(tune, finder))
    root, content, exact = total["found"].shares()
    told = "\n".join(measure.row(tune.title, [tune]) for tune in tunes)

    assert total["found"].beats > 200, told
    assert root >= 0.65, told
    assert content >= 0.7, told
    assert exact >= 0.55, told
    for yardstick in ("tonic", "measure"):
        assert root > total[yardstick].shares()[0] + 0.1, told


def test_phrases_begin_where_the_lines_of_folk_songs_do() -> None:
    measure = script("measure_phrases")
    kept = measure.songs(60, 2026)
    found, yardstick = (measure.survey(kept, finder) for finder in measure.FINDERS.values())

    assert len(kept) >= 55
    assert found.precision >= 0.6, found
    assert found.recall >= 0.6, found
    assert found.balance > yardstick.balance + 0.1, (found, yardstick)
