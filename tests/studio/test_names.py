"""Names that people choose."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import InputError
from coach.studio.names import LONGEST, folded, read_name, slug


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("Wren", "Wren"),
        ("  Wren \t Hill ", None),  # a tab cannot be seen
        ("  Wren   Hill ", "Wren Hill"),
        ("Zoe\u0308", "Zoë"),
        ("李小龙", "李小龙"),
        ("7", "7"),
        ("🦊", "🦊"),
        ("👩\u200d🎤", "👩\u200d🎤"),
        ("a" * LONGEST, "a" * LONGEST),
        ("a" * (LONGEST + 1), None),
        ("", None),
        ("   ", None),
        ("...", None),
        ("\u0301", None),
        ("Wren\u202eneW", None),
        ("Wren\u200b", None),
        ("Wren\x00", None),
        ("Wren\nHill", None),
        ("Wren\u2028", None),
        ("\ud800x", None),
    ],
)
def test_a_name_is_kept_as_it_is_read_or_refused_in_words(typed: str, kept: str | None) -> None:
    if kept is not None:
        assert read_name(typed) == kept
        return
    with pytest.raises(InputError, match=r"name .*; "):
        read_name(typed)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Wren", "WREN"),
        ("Straße", "STRASSE"),
        ("Zoë", "Zoe\u0308"),
        ("Ｗren", "wren"),
        ("a\u200cb", "ab"),
        ("ﬁn", "FIN"),
    ],
)
def test_names_that_read_alike_are_the_same(one: str, other: str) -> None:
    assert folded(one) == folded(other)


def test_names_that_read_otherwise_are_not() -> None:
    assert len({folded(each) for each in ("Wren", "Wrenn", "Wrén", "W ren")}) == 4


@given(st.text(max_size=60))
def test_whatever_is_typed_is_a_name_or_a_sentence(typed: str) -> None:
    try:
        name = read_name(typed)
    except InputError as error:
        assert str(error).endswith(".")  # noqa: PT017 - most texts are refused
    else:
        assert 1 <= len(name) <= LONGEST
        assert read_name(name) == name
        assert folded(folded(name)) == folded(name)


@pytest.mark.parametrize(
    ("name", "made"),
    [("Old Mill Studio", "old-mill-studio"), ("Ruth's", "ruths"), ("Müller & Söhne", "muller-sohne"), ("李", "studio")],
)
def test_a_studio_is_named_by_what_people_can_type(name: str, made: str) -> None:
    assert slug(name) == made
