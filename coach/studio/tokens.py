"""Tokens: long random texts, each of which opens something; the records keep their digests only."""

from __future__ import annotations

import hashlib

__all__ = ["TOKEN_BYTES", "digest_of"]

TOKEN_BYTES = 32
"""Random bytes of a token: it cannot be guessed, so one quick digest hides it."""


def digest_of(token: str) -> str:
    """The SHA-256 of a token, as 64 hex digits."""
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
