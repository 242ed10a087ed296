"""Text that every sheet can hold."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coach.tunes.plain_text import plain_text
from coach.tunes.read import read_tune_bytes

UNFIT = ["\x00", "\x01", "\x08", "\x0b", "\r", "\x1b", "\x7f", "\x85", "\ud800", "\ufffe", "\uffff"]


@pytest.mark.parametrize("unfit", UNFIT)
def test_what_no_sheet_can_hold_is_taken_out(unfit: str) -> None:
    assert plain_text(f"a{unfit}b") == "ab"


@pytest.mark.parametrize("text", ["", "Mill Lane", "tab\tline\n", "ça và ß", "日本", "🪕", "\ufffd", "\ud7ff\ue000"])
def test_the_words_of_all_languages_are_left_alone(text: str) -> None:
    assert plain_text(text) == text


@settings(derandomize=True, deadline=None)
@given(st.text(st.characters(exclude_categories=[])))
def test_any_text_can_be_written_into_xml_and_read_again(text: str) -> None:
    element = ET.Element("a")
    element.text = plain_text(text)

    assert (ET.fromstring(ET.tostring(element)).text or "") == plain_text(text)


def test_the_title_rights_and_words_of_a_tune_are_plain_text() -> None:
    abc = 'X:1\nT:Mill\x01 Lane\nC:me\x02\nM:4/4\nL:1/4\nK:G\n"G"GABc|\nw:la\x03 li lu lo\nw:no\x1b ni nu no\n'
    tune = read_tune_bytes(abc.encode(), "t.abc")
    first = tune.measures[0].notes[0]

    assert (tune.title, tune.rights, first.lyric, first.verses) == ("Mill Lane", "me", "la", ("no",))
