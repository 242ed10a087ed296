"""The wire described for others: an AsyncAPI 3 document, made of the messages' own types.

Every kind of :data:`~coach.service.protocol.FromPage` and :data:`~coach.service.protocol.FromService` is in it, with
its docstring and its JSON Schema, so that a kind that is added describes itself. ``python -m coach.service.described``
writes it anew into ``asyncapi.json`` beside this file, which the service hands out; a test holds both to be the same.

References:
    AsyncAPI 3.0.0 specification, 2023-12-04. Its own schemas are a superset of JSON Schema draft 07, where fixed
    tuples are written with ``items``; msgspec writes them as draft 2020-12 does, and patterns as Python has them.
"""

from __future__ import annotations

import inspect
import json
from pathlib import Path
from typing import Any, get_args

import msgspec

from coach.service import protocol

__all__ = ["described", "document"]

_SIDES = {
    "fromPage": ("receive", protocol.FromPage, "What a page, or a teacher's desk, may say to the service."),
    "fromService": ("send", protocol.FromService, "What the service says to a page, or to a teacher's desk."),
}
_FILE = Path(__file__).with_name("asyncapi.json")


def described() -> bytes:
    """The document as it was written, JSON in UTF-8."""
    return _FILE.read_bytes()


def document() -> bytes:
    """The document as the types are now, JSON in UTF-8; the same types give the same bytes."""
    structs = [struct for _, side, _ in _SIDES.values() for struct in get_args(side)]
    _, schemas = msgspec.json.schema_components(structs, ref_template="#/components/schemas/{name}")
    messages = {f"{name}.{_kind(struct)}": struct for name, (_, side, _) in _SIDES.items() for struct in get_args(side)}
    whole = {
        "asyncapi": "3.0.0",
        "info": {
            "title": "Practice coach",
            "version": protocol.SUBPROTOCOL.removeprefix("coach."),
            "description": _conventions(),
            "license": {"name": "MIT"},
        },
        "defaultContentType": "application/json",
        "channels": {
            "practice": {
                "address": "/ws",
                "title": "One page's websocket",
                "description": f"Subprotocol {protocol.SUBPROTOCOL}; the first message of a page is `join`, or `desk`"
                f" where a teacher looks on. A page's message is at most {protocol.LARGEST_MESSAGE} bytes long.",
                "messages": {key: {"$ref": f"#/components/messages/{key}"} for key in messages},
                "bindings": {"ws": {"method": "GET"}},
            }
        },
        "operations": {
            name: {
                "action": action,
                "channel": {"$ref": "#/channels/practice"},
                "summary": summary,
                "messages": [
                    {"$ref": f"#/channels/practice/messages/{name}.{_kind(struct)}"} for struct in get_args(side)
                ],
            }
            for name, (action, side, summary) in _SIDES.items()
        },
        "components": {
            "messages": {
                key: {
                    "name": _kind(struct),
                    "summary": _summary(struct),
                    "payload": {"$ref": f"#/components/schemas/{struct.__name__}"},
                }
                for key, struct in messages.items()
            },
            "schemas": {name: _draft_07(schemas[name]) for name in sorted(schemas)},
        },
    }
    return (json.dumps(whole, indent=1, ensure_ascii=False) + "\n").encode()


def _kind(struct: type[msgspec.Struct]) -> str:
    return str(struct.__struct_config__.tag)


def _summary(struct: type[msgspec.Struct]) -> str:
    return " ".join((inspect.getdoc(struct) or "").partition("\n\n")[0].split())


def _conventions() -> str:
    return inspect.cleandoc(protocol.__doc__ or "").partition("Conventions")[2].strip()


def _draft_07(schema: Any) -> Any:
    """A schema as draft 07 has it, for any reader of patterns, and with docstrings without their indent."""
    if isinstance(schema, list):
        return [_draft_07(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    written = {name: _draft_07(each) for name, each in schema.items()}
    if "prefixItems" in written:
        written["additionalItems"] = written.pop("items", True)
        written["items"] = written.pop("prefixItems")
    if isinstance(written.get("pattern"), str):
        written["pattern"] = written["pattern"].replace(r"\Z", r"(?![\s\S])")  # the end, everywhere
    if isinstance(written.get("description"), str):
        written["description"] = inspect.cleandoc(written["description"])
    return written


if __name__ == "__main__":
    _FILE.write_bytes(document())
