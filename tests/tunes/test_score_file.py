"""Score files of strangers: opened, or refused in a sentence."""

from __future__ import annotations

import zipfile
from io import BytesIO

import pytest

from coach.errors import TuneError
from coach.tunes import score_file
from coach.tunes.score_file import score_tree, unpacked

SCORE = b'<score-partwise><part id="P1"><measure number="1"/></part></score-partwise>'


def packed(**members: bytes) -> bytes:
    buffer = BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name.replace("__", "/").replace("_", "."), data)
    return buffer.getvalue()


def test_a_score_is_a_tree() -> None:
    assert [part.get("id") for part in score_tree(SCORE, "a").findall("part")] == ["P1"]
    assert score_tree(
        '<?xml version="1.0" encoding="UTF-16"?>'.encode("utf-16") + SCORE.decode().encode("utf-16-le"), "a"
    )


def test_the_container_names_the_score_of_an_archive_and_else_it_is_the_first() -> None:
    container = b'<container><rootfiles><rootfile full-path="b.xml"/></rootfiles></container>'
    named = packed(**{"a_xml": b"<no/>", "b_xml": SCORE, "META-INF__container_xml": container})
    assert unpacked(named, "a.mxl") == SCORE
    assert unpacked(packed(a_xml=SCORE, b_xml=b"<no/>"), "a.mxl") == SCORE


@pytest.mark.parametrize(
    ("data", "sentence"),
    [
        (b'<!DOCTYPE a [<!ENTITY b "c">]>' + SCORE, "entities of its own"),
        ('<!DOCTYPE a [<!ENTITY b "c">]>'.encode("utf-16"), "entities of its own"),
        (SCORE[:-3], "no XML that can be read"),
        (b"", "no XML that can be read"),
        (b'<?xml version="1.0" encoding="martian"?><a/>', "no XML that can be read"),
        (b"<opus/>", "this is a <opus>"),
        (b"<score-partwise><part>" + b"<measure/>" * 501 + b"</part></score-partwise>", "more than 500 measures"),
    ],
)
def test_what_is_no_score_is_refused(data: bytes, sentence: str) -> None:
    with pytest.raises(TuneError) as caught:
        score_tree(data, "song.xml")
    assert str(caught.value).startswith("song.xml: ")
    assert sentence in str(caught.value)


def test_an_archive_that_is_damaged_empty_or_swells_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = packed(a_xml=SCORE)
    for data, sentence in ((whole[:-30], "damaged"), (packed(a_txt=b"x"), "no score in this archive")):
        with pytest.raises(TuneError, match=sentence):
            unpacked(data, "a.mxl")
    monkeypatch.setattr(score_file, "MOST_UNPACKED", len(SCORE))
    assert unpacked(whole, "a.mxl") == SCORE
    monkeypatch.setattr(score_file, "MOST_UNPACKED", len(SCORE) - 1)
    with pytest.raises(TuneError, match="larger than 20 MB"):
        unpacked(whole, "a.mxl")
