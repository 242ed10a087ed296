"""Chords as elements of MusicXML and back."""

from __future__ import annotations

from xml.etree import ElementTree as ET

import pytest

from coach.errors import TuneError
from coach.sheets.harmony_xml import read_harmony, write_harmony
from coach.tunes.chords import QUALITIES, Chord


@pytest.mark.parametrize("quality", sorted(QUALITIES))
@pytest.mark.parametrize("root", ["G", "F#", "Bb"])
def test_every_quality_comes_back(root: str, quality: str) -> None:
    chord = Chord(root, quality, "Eb")
    assert read_harmony(write_harmony(chord), where="") == chord


def test_a_chord_is_written_by_its_parts() -> None:
    harmony = write_harmony(Chord("F#", "7sus4", "C#"))
    assert harmony.findtext("root/root-step") == "F"
    assert harmony.findtext("root/root-alter") == "1"
    assert harmony.findtext("kind") == "suspended-fourth"
    assert harmony.find("kind").get("text") == "7sus4"  # type: ignore[union-attr]
    assert harmony.findtext("bass/bass-step") == "C"
    assert harmony.findtext("degree/degree-value") == "7"


def given(kind: str, *, step: str = "G", alter: str = "", text: str = "", more: str = "") -> ET.Element:
    altered = f"<root-alter>{alter}</root-alter>" if alter else ""
    return ET.fromstring(
        f"<harmony><root><root-step>{step}</root-step>{altered}</root><kind text='{text}'>{kind}</kind>{more}</harmony>"
    )


@pytest.mark.parametrize(
    ("kind", "text", "symbol"),
    [
        ("dominant-13th", "13", "G9"),
        ("major-ninth", "", "Gmaj7"),
        ("major-minor", "", "Gm"),
        ("other", "m7b5", "Gm7b5"),
        ("power", "", "G5"),
    ],
)
def test_richer_and_other_kinds_become_ours(kind: str, text: str, symbol: str) -> None:
    chord = read_harmony(given(kind, text=text), where="")
    assert chord is not None
    assert chord.symbol == symbol


@pytest.mark.parametrize(("alter", "root"), [("-1", "Gb"), ("+1", "G#"), ("1.0", "G#"), ("0", "G")])
def test_alterations_may_be_written_in_several_ways(alter: str, root: str) -> None:
    assert read_harmony(given("major", alter=alter), where="") == Chord(root)


def test_no_chord_is_none() -> None:
    assert read_harmony(given("none"), where="") is None


@pytest.mark.parametrize(
    "harmony", [given("major", step="H"), given("major", alter="7"), given("Neapolitan"), ET.Element("harmony")]
)
def test_an_unknown_chord_is_said_with_its_place(harmony: ET.Element) -> None:
    with pytest.raises(TuneError, match=r"^song, measure 2: "):
        read_harmony(harmony, where="song, measure 2")
