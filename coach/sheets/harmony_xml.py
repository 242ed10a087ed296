"""Chords between our symbols and the ``<harmony>`` element of MusicXML.

References:
    MusicXML 4.0, W3C Community Group Final Report, elements harmony, kind and degree. An added degree is counted
    against a dominant chord: major and perfect intervals over the root, but a minor seventh.
"""

from __future__ import annotations

from xml.etree import ElementTree as ET

from coach.errors import TuneError
from coach.tunes.chords import QUALITIES, Chord, read_chord

__all__ = ["read_harmony", "write_harmony"]

# Our qualities as kinds of MusicXML, with the degree that has to be added: its number, counted as the module says.
_KINDS: dict[str, tuple[str, int | None]] = {
    "": ("major", None),
    "m": ("minor", None),
    "7": ("dominant", None),
    "m7": ("minor-seventh", None),
    "maj7": ("major-seventh", None),
    "6": ("major-sixth", None),
    "m6": ("minor-sixth", None),
    "9": ("dominant-ninth", None),
    "m9": ("minor-ninth", None),
    "add9": ("major", 9),
    "sus4": ("suspended-fourth", None),
    "sus2": ("suspended-second", None),
    "7sus4": ("suspended-fourth", 7),
    "dim": ("diminished", None),
    "dim7": ("diminished-seventh", None),
    "m7b5": ("half-diminished", None),
    "aug": ("augmented", None),
    "7#5": ("augmented-seventh", None),
    "5": ("power", None),
}
# Richer kinds than ours lose their upper notes.
_RICHER = {
    "major-minor": "m",
    "major-ninth": "maj7",
    "major-11th": "maj7",
    "major-13th": "maj7",
    "dominant-11th": "9",
    "dominant-13th": "9",
    "minor-11th": "m9",
    "minor-13th": "m9",
}
_QUALITIES = {kind: quality for quality, (kind, degree) in _KINDS.items() if degree is None} | _RICHER
_WITH_DEGREE = {(kind, degree): quality for quality, (kind, degree) in _KINDS.items() if degree is not None}

_SIGNS = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}


def write_harmony(chord: Chord) -> ET.Element:
    """The element of a chord, without its place in time."""
    harmony = ET.Element("harmony", {"print-frame": "no"})
    _write_name(harmony, "root", chord.root)
    kind, degree = _KINDS[chord.quality]
    written = ET.SubElement(harmony, "kind", {"text": chord.quality} if chord.quality else {})
    written.text = kind
    if chord.bass:
        _write_name(harmony, "bass", chord.bass)
    if degree is not None:
        # The text of the kind tells it already.
        added = ET.SubElement(harmony, "degree", {"print-object": "no"})
        for tag, text in (("degree-value", str(degree)), ("degree-alter", "0"), ("degree-type", "add")):
            ET.SubElement(added, tag).text = text
    return harmony


def read_harmony(harmony: ET.Element, *, where: str) -> Chord | None:
    """The chord of an element; None where it says that there is none.

    Raises:
        TuneError: when its root or kind is none that is known.
    """
    kind = (harmony.findtext("kind") or "").strip()
    if kind == "none":
        return None
    root = _read_name(harmony, "root", where)
    quality = _QUALITIES.get(kind)
    degree = harmony.find("degree")
    if degree is not None and (degree.findtext("degree-type") or "").strip() == "add":
        value = (degree.findtext("degree-value") or "").strip()
        quality = next(
            (name for (of, more), name in _WITH_DEGREE.items() if of == kind and str(more) == value), quality
        )
    if quality is None:
        written = harmony.find("kind")
        shown = written.get("text", "") if written is not None else ""
        quality = read_chord(f"{root}{shown or kind}", where=where).quality
    return Chord(root, quality, _read_name(harmony, "bass", where) if harmony.find("bass") is not None else "")


def _write_name(harmony: ET.Element, tag: str, name: str) -> None:
    place = ET.SubElement(harmony, tag)
    ET.SubElement(place, f"{tag}-step").text = name[0]
    alter = name.count("#") - name.count("b")
    if alter:
        ET.SubElement(place, f"{tag}-alter").text = str(alter)


def _read_name(harmony: ET.Element, tag: str, where: str) -> str:
    step = (harmony.findtext(f"{tag}/{tag}-step") or "").strip().upper()
    alter = (harmony.findtext(f"{tag}/{tag}-alter") or "0").strip()
    sign = next((sign for steps, sign in _SIGNS.items() if alter in {str(steps), f"+{steps}", f"{steps}.0"}), None)
    if len(step) != 1 or step not in "ABCDEFG" or sign is None:
        raise TuneError(
            f"a chord has no {tag} that is known", where=where, cure=f"give it a {tag}-step of A to G, or take it out"
        )
    return step + sign


assert set(_KINDS) == set(QUALITIES)
