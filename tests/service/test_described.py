from __future__ import annotations

import json
from typing import Any, get_args

import pytest
from jsonschema import Draft7Validator

from coach.service import protocol as wire
from coach.service.described import described, document

KINDS = [
    (side, struct)
    for side, union in (("fromPage", wire.FromPage), ("fromService", wire.FromService))
    for struct in get_args(union)
]


@pytest.fixture(scope="module")
def read() -> dict[str, Any]:
    found: dict[str, Any] = json.loads(document())
    return found


def validator(read: dict[str, Any], side: str, kind: str) -> Draft7Validator:
    payload = read["components"]["messages"][f"{side}.{kind}"]["payload"]
    return Draft7Validator({**payload, "components": read["components"]})


def test_what_is_handed_out_is_what_the_types_say() -> None:
    assert described() == document(), "write it anew: python -m coach.service.described"


@pytest.mark.parametrize(("side", "struct"), KINDS, ids=[struct.__name__ for _, struct in KINDS])
def test_every_kind_is_in_it_with_its_words_and_its_fields(read: dict[str, Any], side: str, struct: Any) -> None:
    kind = struct.__struct_config__.tag
    message = read["components"]["messages"][f"{side}.{kind}"]
    schema = read["components"]["schemas"][struct.__name__]

    assert message["name"] == kind
    assert message["summary"]
    assert struct.__doc__.split("\n")[0].strip() in schema["description"]
    assert schema["properties"]["kind"] == {"enum": [kind]}
    assert {*schema["properties"]} == {"kind", *struct.__struct_encode_fields__}
    place = f"#/channels/practice/messages/{side}.{kind}"
    assert {"$ref": place} in read["operations"][side]["messages"]


def test_nobody_may_send_what_only_the_other_side_says(read: dict[str, Any]) -> None:
    sent, taken = (
        {each["$ref"].rpartition(".")[2] for each in read["operations"][side]["messages"]}
        for side in ("fromPage", "fromService")
    )

    assert {"join", "notes"} <= sent
    assert {"hello", "report"} <= taken
    assert not sent & taken


@pytest.mark.parametrize(
    ("message", "fits"),
    [
        ({"kind": "join", "session": "home"}, True),
        ({"kind": "join", "session": "Home"}, False),
        ({"kind": "join", "session": "home\n"}, False),
        ({"kind": "settings", "tempo": 400}, True),
        ({"kind": "settings", "tempo": 401}, False),
        ({"kind": "settings", "latency_ms": "soon"}, False),
        ({"kind": "pong", "id": 1, "t1": 0, "t2": 0}, False),
    ],
)
def test_a_message_fits_where_the_service_takes_it(read: dict[str, Any], message: dict[str, Any], fits: bool) -> None:
    assert validator(read, "fromPage", message["kind"]).is_valid(message) is fits
    try:
        wire.decode_from_page(json.dumps(message))
    except ValueError:
        assert not fits
    else:
        assert fits
