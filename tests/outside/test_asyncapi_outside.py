"""The description of the wire against the official JSON Schema of AsyncAPI 3.0.0, by the library jsonschema."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft7Validator

from coach.service.described import document

OFFICIAL = json.loads((Path(__file__).parent / "data" / "asyncapi-3.0.0.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def described() -> dict[str, Any]:
    read: dict[str, Any] = json.loads(document())
    return read


def test_it_is_an_asyncapi_document(described: dict[str, Any]) -> None:
    errors = [
        f"{list(error.absolute_path)}: {error.message[:200]}"
        for error in Draft7Validator(OFFICIAL).iter_errors(described)
    ]

    assert errors == []


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("asyncapi",), "2.6.0"),
        (("operations", "fromPage", "action"), "listen"),
        (("channels", "practice", "address"), 7),
        (("components", "schemas", "Join", "type"), "record"),
    ],
)
def test_the_official_schema_finds_what_is_wrong(
    described: dict[str, Any], place: tuple[str, ...], value: object
) -> None:
    broken: dict[str, Any] = json.loads(json.dumps(described))
    part = broken
    for name in place[:-1]:
        part = part[name]
    part[place[-1]] = value

    assert not Draft7Validator(OFFICIAL).is_valid(broken)


def test_the_schemas_of_its_messages_are_of_draft_07_and_lead_nowhere_else(described: dict[str, Any]) -> None:
    schemas = described["components"]["schemas"]

    for name, schema in schemas.items():
        Draft7Validator.check_schema(schema)
        for reference in references(schema):
            assert reference.removeprefix("#/components/schemas/") in schemas, name


def references(part: Any) -> list[str]:
    if isinstance(part, list):
        return [found for each in part for found in references(each)]
    if isinstance(part, dict):
        here = [part["$ref"]] if isinstance(part.get("$ref"), str) else []
        return here + [found for each in part.values() for found in references(each)]
    return []
