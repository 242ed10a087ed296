"""What belongs to somebody in a studio goes out whole, and without secrets."""

from __future__ import annotations

import json

from sqlalchemy import Connection, insert
from studio_people import BEGAN, a_studio

from coach.records.belonging import studio_json
from coach.records.leaving import player_files
from coach.records.store import Store
from coach.records.studio_tables import assignments, consents, devices, findings, metadata, passkeys, passwords, pins
from coach.records.tables import passes, tunes

SECRETS = ("digest-of-a-token", "hash-of-a-password", "616263")


def fill(connection: Connection) -> None:
    a_studio(connection)

    def put(table: str, **row: object) -> None:
        connection.execute(insert(metadata.tables[table]), row)

    for person in ("wren", "reed"):
        put(consents.name, person=person, version="1", given=BEGAN, guardian=True)
        put(devices.name, id=f"d-{person}", person=person, digest=f"{SECRETS[0]}-{person}", name="a phone", began=BEGAN,
            seen=BEGAN)  # fmt: skip
        put(passwords.name, person=person, hash=SECRETS[1], changed=BEGAN)
        put(passkeys.name, id=f"k-{person}", person=person, credential=person.encode(), public_key=b"abc", count=1,
            name="my phone", added=BEGAN)  # fmt: skip
        put(assignments.name, id=f"a-{person}", student=person, by="ruth-1", made=BEGAN, tune="mill", title="Mill",
            tier="beginner", mix=(2, 4), goal=80.0, until="2026-03-08", words=f"for {person}")  # fmt: skip
        put(pins.name, id=f"p-{person}", student=person, by=None, made=BEGAN, tune="mill", measure=3, words="softer")
    put(tunes.name, id="mill", title="Mill", repeats={})
    put(passes.name, id=7, player="wren", tune="mill", digest="d", tier="beginner", mix=(), kind="whole", tempo=60.0,
        goal=80.0, first=1, last=4, began=BEGAN, day="2026-03-01", seconds=9.0, whole=True, clean=False, judged="heard",
        folder="20260301T090000-wren", number=2, scoring=1)  # fmt: skip
    put(findings.name, **{"pass": 7}, place=0, name="rushes", words="You rush.", cost=2.5)


def test_all_of_it_is_there_and_nothing_of_others(store: Store) -> None:
    store.write(fill).result()

    text = store.read(lambda c: studio_json(c, "wren"))
    assert text is not None
    told = json.loads(text)

    assert {
        "format": "person/1",
        "person": "wren",
        "name": "Wren",
        "studio": "Oak Lane",
        "role": "student",
    }.items() <= (told.items())
    assert told["consents"] == [{"version": "1", "given": BEGAN, "guardian": True}]
    assert told["devices"] == [{"id": "d-wren", "name": "a phone", "began": BEGAN, "seen": BEGAN}]
    assert told["password_changed"] == BEGAN
    assert told["passkeys"] == [{"id": "k-wren", "count": 1, "name": "my phone", "added": BEGAN}]
    (assigned,), (pinned,) = told["assignments"], told["pins"]
    assert (assigned["words"], assigned["by"], assigned["mix"]) == ("for wren", "Ruth", [2, 4])
    assert (pinned["words"], pinned["by"]) == ("softer", None)
    assert told["findings"] == [
        {"folder": "20260301T090000-wren", "number": 2, "name": "rushes", "words": "You rush.", "cost": 2.5}
    ]
    assert "reed" not in text
    assert not any(secret in text for secret in SECRETS)


def test_it_is_among_the_files_of_a_player_in_a_studio_alone(store: Store) -> None:
    store.write(fill).result()
    assert "studio.json" in store.read(lambda c: player_files(c, "wren"))
    assert "studio.json" not in store.read(lambda c: player_files(c, "home"))
