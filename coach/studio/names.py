"""Names that people choose: what may be one, and when two are the same.

References:
    Unicode Standard Annex #15 (normal forms) and Standard, section 3.13 (D145: case-insensitive compatibility match).
"""

from __future__ import annotations

import unicodedata

from coach.errors import InputError

__all__ = ["LONGEST", "folded", "read_name", "slug"]

LONGEST = 40
"""Characters of a name at most."""

_JOINERS = "\u200c\u200d"  # parts of words in some scripts, and of emoji; nothing of them is seen alone


def read_name(text: str, *, of: str = "name") -> str:
    """A name as it is kept: in normal form C, with single blanks and none around it.

    Args:
        text: as it was typed.
        of: what it is the name of, in words.

    Raises:
        InputError: when it has fewer than 1 or more than :data:`LONGEST` characters, any that are not seen or turn
            the direction of what follows, or nothing that could be read out.
    """
    for sign in text:
        if (unicodedata.category(sign)[0] == "C" and sign not in _JOINERS) or unicodedata.category(sign) in (
            "Zl",
            "Zp",
        ):
            raise InputError(
                f"the {of} has a character that cannot be seen (U+{ord(sign):04X})", cure="type it without that"
            )
    name = " ".join(unicodedata.normalize("NFC", text).split())
    if not any(unicodedata.category(sign)[0] in "LNS" for sign in name):
        raise InputError(f"the {of} has nothing that could be read", cure="use letters")
    if len(name) > LONGEST:
        raise InputError(f"the {of} has {len(name)} characters", cure=f"use at most {LONGEST}")
    return name


def folded(name: str) -> str:
    """A name as it is compared with others: those that fold to the same text are the same."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKC", name) if sign not in _JOINERS)
    again = unicodedata.normalize("NFKC", unicodedata.normalize("NFKD", plain).casefold())
    return " ".join(again.split())


def slug(name: str) -> str:
    """What people type for the name of a studio: small letters of ASCII, digits and hyphens; never empty."""
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", name).casefold() if sign.isascii())
    words = "".join(sign if sign.isalnum() else " " for sign in plain.replace("'", "")).split()
    return "-".join(words)[:32].strip("-") or "studio"
