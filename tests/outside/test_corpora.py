"""Three tiers for tunes from outside: sung folk songs and fiddle tunes of the corpus that music21 installs.

Source of the tunes: ``music21.corpus``, folders ``essenFolksong`` and ``ryansMammoth``; they are read where they lie
and nothing of them is copied. The samples are fixed by their seed. The limits are what a teacher expects of the three
levels: common practice, no source.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import music21
import pytest

from coach.arranging.arrange import arrange
from coach.arranging.rules import broken_rules
from coach.tunes.read import read_tune

SONGS, FIDDLE_TUNES, SEED = 44, 4, 2026
EVERY = 2  # of the songs is arranged: the limits hold for each half of them
TIERS = ("beginner", "intermediate", "advanced")
MADE = 0.9

# All that a refusal may say.
REASONS = {"the tune has no metre (M:none)"}

# Tier, share, least value over all songs that are not too dense for rolls.
LEAST = [
    ("beginner", "phrase_starts", 1.0),
    ("beginner", "downbeats", 0.95),
    ("beginner", "kept_but_repeats", 0.98),
    ("intermediate", "filled_rolls", 0.85),
    ("intermediate", "chordal_fills", 0.97),
    ("intermediate", "drone", 0.1),
    ("intermediate", "phrase_starts", 1.0),
    ("intermediate", "downbeats", 0.95),
    ("intermediate", "kept_measures", 1.0),
    ("intermediate", "thinned_even", 0.5),
    *[("intermediate", roll, 0.05) for roll in ("alternating", "forward", "backward", "forward_reverse")],
    ("advanced", "embellished", 0.9),
    ("advanced", "embellished_pairs", 0.97),
    ("advanced", "bent", 0.9),
    ("advanced", "licked_gaps", 0.5),
    ("advanced", "filled_rolls", 0.7),
    ("advanced", "chordal_fills", 0.97),
    ("advanced", "drone", 0.1),
    ("advanced", "other_places", 0.05),
    ("advanced", "ringing_slides", 0.05),
    ("advanced", "phrase_starts", 1.0),
    ("advanced", "downbeats", 0.95),
    ("advanced", "kept_measures", 1.0),
    ("advanced", "thinned_even", 0.5),
]
MOST = [
    ("intermediate", "drone", 0.3),
    ("advanced", "drone", 0.3),
    ("advanced", "stretched", 0.1),
    ("advanced", "crowded_embellishments", 0.0),
    ("advanced", "repeated_licks", 0.02),
]
KEPT_OF_A_TUNE = 0.8


def measuring() -> ModuleType:
    """The module that surveys; a script, so it is loaded by its path."""
    path = Path(__file__).parent.parent / "bench" / "measure_texture.py"
    spec = importlib.util.spec_from_file_location("measure_texture", path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.timeout(600)
def test_sung_folk_songs_become_three_tiers_that_hold_the_rules_and_the_texture():
    measure = measuring()
    songs = measure.sample("essenFolksong", SONGS, SEED)[::EVERY]
    found = measure.survey(songs)
    shares = {tier: found.shares(tier) for tier in TIERS}
    wrong = [f"{tier} {name}" for tier, name, limit in LEAST if shares[tier][name].value < limit]
    wrong += [f"{tier} {name}" for tier, name, limit in MOST if shares[tier][name].value > limit]
    wrong += [
        f"{tier} keeps too little of {name}"
        for name, textures in found.by_tune.items()
        for tier in ("intermediate", "advanced")
        if textures[tier].kept.value < KEPT_OF_A_TUNE
    ]
    told = f"{wrong}\n{measure.table(found)}"

    assert found.made + found.reasons.total() == len(songs)
    assert found.made >= MADE * len(songs), told
    assert set(found.reasons) <= REASONS, told
    assert found.broken == [], told
    assert wrong == [], told


@pytest.mark.timeout(600)
def test_fiddle_tunes_keep_their_strong_notes_and_the_rules():
    measure = measuring()
    found = measure.survey(measure.sample("ryansMammoth", FIDDLE_TUNES, SEED))
    told = measure.table(found)

    assert found.made >= MADE * FIDDLE_TUNES, told
    assert set(found.reasons) <= REASONS, told
    assert found.broken == [], told
    for tier in TIERS:
        assert found.shares(tier)["phrase_starts"].value == 1, told
        assert found.shares(tier)["downbeats"].value >= 0.95, told


# Tunes in which the hand has to leap where there is little time: behind a measure of two slots, between a measure that
# is played again and another neighbour, within an ending, where grids of two sizes meet, and on from a slide.
LEAPS = [
    ("StatueClog", "intermediate"),
    ("LevantinesBarrelReel", "intermediate"),
    ("BirminghamHornpipe", "advanced"),
    ("MarquisOfHuntleysHighlandFling", "intermediate"),
    ("MountYourBaggageJig", "advanced"),
]


@pytest.mark.parametrize(("name", "tier"), LEAPS)
def test_where_the_hand_has_to_leap_no_rule_is_broken(name, tier):
    (path,) = (Path(music21.__file__).parent / "corpus" / "ryansMammoth").glob(f"{name}.abc")

    assert broken_rules(arrange(read_tune(path), tier)) == ()
