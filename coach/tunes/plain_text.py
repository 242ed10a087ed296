"""Plain text: words of strangers without the characters that no sheet can hold."""

from __future__ import annotations

import re

__all__ = ["plain_text"]

# All that is no Char of XML 1.0 (W3C Recommendation, fifth edition, section 2.2; from memory), and the controls of C1;
# and the carriage return, which XML reads as a line feed.
_UNFIT = re.compile("[^\t\n\x20-\x7e\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def plain_text(text: str) -> str:
    """The text without control characters, lone surrogates and what is no character."""
    return _UNFIT.sub("", text)
