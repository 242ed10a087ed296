"""What pages send to addresses as JSON, read by type at the border; and what they are answered."""

from __future__ import annotations

from typing import TypeVar

import msgspec
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response

from coach.errors import InputError

__all__ = ["LARGEST_BODY", "Nothing", "answer_json", "read_body"]

LARGEST_BODY = 64 * 1024
"""Bytes of a body at most."""

T = TypeVar("T")


class Nothing(msgspec.Struct, forbid_unknown_fields=True):
    """A body without anything."""


async def read_body(request: Request, kind: type[T]) -> T:
    """The body of a request.

    Raises:
        HTTPException: 415 when it is not told to be JSON, 413 when it is larger than :data:`LARGEST_BODY`.
        InputError: when it is not of this kind.
    """
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise HTTPException(415, "What was sent is not told to be JSON; load the page anew.")
    data = bytearray()
    async for piece in request.stream():
        data += piece
        if len(data) > LARGEST_BODY:
            raise HTTPException(413, "What was sent is larger than 64 kB; send less.")
    try:
        return msgspec.json.decode(bytes(data), type=kind)
    except (msgspec.MsgspecError, RecursionError, UnicodeError) as error:
        raise InputError(f"what was sent cannot be read: {error}", cure="load the page anew") from error


def answer_json(record: object) -> Response:
    """An answer as JSON that nobody keeps."""
    return Response(msgspec.json.encode(record), media_type="application/json", headers={"Cache-Control": "no-store"})
