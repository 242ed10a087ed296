"""Which letters the font of printed sheets has."""

import pytest

from coach.sheets.letters import letters_missing


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        ("", ""),
        ("Rain fell all the long day; 0123456789!", ""),
        ("ñ é ü ß Æ ő ž ł ’ “ ” … – —", ""),
        ("Ωμέγα шёл שלום", ""),
        ("日本, 日", "日本"),
        ("a 🎵 b", "🎵"),
        ("B♭ F♯ ♮", ""),
        ("a\u00a0b\u200f\n", ""),
    ],
)
def test_letters_that_are_missing_are_named_once_and_in_order(text: str, missing: str) -> None:
    assert "".join(letters_missing(text)) == missing
