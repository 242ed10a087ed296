"""What people come back by: devices, passwords, passkeys; and that they agreed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import Connection, func, select

from coach.errors import InputError
from coach.records.leaving import forget
from coach.records.store import Store
from coach.records.studio_tables import metadata
from coach.studio import passwords
from coach.studio.consents import Consent, agree, consent_of
from coach.studio.devices import (
    MOST_DEVICES,
    UNSEEN_DAYS,
    add_device,
    device_name,
    device_of_digest,
    devices_of,
    note_seen,
    sign_out,
    sign_out_everywhere,
    sweep_devices,
)
from coach.studio.members import (
    add_person,
    known_studio,
    members_of,
    open_studio,
    person_named,
    person_of_id,
    studios_in,
)
from coach.studio.passkeys import (
    MOST_PASSKEYS,
    Passkey,
    add_passkey,
    note_used,
    passkey_of_credential,
    passkeys_of,
    remove_passkey,
)
from coach.studio.people import Person, StudioName
from coach.studio.tokens import digest_of

BEGAN = "2026-03-01T10:00:00Z"
NOW = datetime(2026, 3, 2, 10, tzinfo=UTC)
UNSEEN = timedelta(days=UNSEEN_DAYS)


@pytest.fixture
def studio(store: Store) -> StudioName:
    return store.write(lambda c: open_studio(c, "Mill", BEGAN)).result()


@pytest.fixture
def wren(store: Store, studio: StudioName) -> Person:
    return store.write(lambda c: add_person(c, "wren", "Wren", "student", studio, BEGAN)).result()


@pytest.fixture
def reed(store: Store, studio: StudioName) -> Person:
    return store.write(lambda c: add_person(c, "reed", "Reed", "student", studio, BEGAN)).result()


# ------------------------------------------------------------------------------------------ studios and people


def test_studios_of_one_name_have_ids_of_their_own(store: Store) -> None:
    for _ in range(3):
        store.write(lambda c: open_studio(c, "Old Mill", BEGAN)).result()

    assert [each.id for each, _, _ in store.read(studios_in)] == ["old-mill", "old-mill-2", "old-mill-3"]
    assert store.read(lambda c: known_studio(c, "old-mill-2")) == StudioName("old-mill-2", "Old Mill")
    assert store.read(lambda c: known_studio(c, "old-mill-4")) is None


def test_people_are_found_by_id_and_by_name_however_it_is_typed(store: Store, wren: Person) -> None:
    assert store.read(lambda c: person_of_id(c, "wren")) == wren
    assert store.read(lambda c: person_named(c, "mill", " wREN ")) == wren
    assert store.read(lambda c: person_of_id(c, "reed")) is None
    assert store.read(lambda c: person_named(c, "brook", "Wren")) is None


def test_members_are_told_with_what_they_come_in_by(
    store: Store, studio: StudioName, wren: Person, reed: Person
) -> None:
    def have(connection: Connection) -> None:
        add_person(connection, "ruth", "Ruth", "teacher", studio, BEGAN)
        add_device(connection, "d", wren, "d", "a phone", NOW)
        add_device(connection, "e", wren, "e", "a phone", NOW)
        passwords.keep_hash(connection, "reed", "hash", BEGAN)

    store.write(have).result()
    told = store.read(lambda c: members_of(c, "mill"))

    assert [(each.person.id, each.devices, each.has_password, each.passkeys, each.practised) for each in told] == [
        ("ruth", 0, False, 0, None),
        ("reed", 0, True, 0, None),
        ("wren", 2, False, 0, None),
    ]


def test_who_is_removed_leaves_no_row_and_nothing_of_others_goes(store: Store, wren: Person, reed: Person) -> None:
    def have(connection: Connection) -> None:
        for person in (wren, reed):
            add_device(connection, person.id, person, person.id, "a phone", NOW)
            passwords.keep_hash(connection, person.id, "hash", BEGAN)
            add_passkey(connection, Passkey(person.id, person.id, person.id.encode(), b"", 0, "", BEGAN))
            agree(connection, person.id, Consent("1", BEGAN, guardian=False))

    store.write(have).result()
    store.write(lambda c: forget(c, "wren")).result()

    def rows(connection: Connection) -> dict[str, int]:
        return {
            name: connection.execute(select(func.count()).select_from(metadata.tables[name])).scalar_one()
            for name in ("people", "devices", "passwords", "passkeys", "consents")
        }

    assert store.read(rows) == dict.fromkeys(("people", "devices", "passwords", "passkeys", "consents"), 1)


# ------------------------------------------------------------------------------------------ devices


@pytest.mark.parametrize(("later", "is_in"), [(UNSEEN, True), (UNSEEN + timedelta(seconds=1), False)])
def test_a_device_that_is_not_seen_for_long_is_signed_out(
    store: Store, wren: Person, later: timedelta, is_in: bool
) -> None:
    store.write(lambda c: add_device(c, "d", wren, digest_of("t"), "a phone", NOW)).result()

    found = store.read(lambda c: device_of_digest(c, digest_of("t"), NOW + later))
    store.write(lambda c: sweep_devices(c, NOW + later)).result()

    assert (found is not None and found.person == wren) == is_in
    assert bool(store.read(lambda c: devices_of(c, "wren"))) == is_in


def test_one_that_is_seen_stays(store: Store, wren: Person) -> None:
    store.write(lambda c: add_device(c, "d", wren, "digest", "a phone", NOW)).result()
    store.write(lambda c: note_seen(c, "d", NOW + UNSEEN)).result()

    found = store.read(lambda c: device_of_digest(c, "digest", NOW + 2 * UNSEEN))
    assert found is not None
    assert found.seen == "2026-05-31T10:00:00Z"


def test_signing_out_concerns_ones_own_devices_alone(store: Store, wren: Person, reed: Person) -> None:
    for id_, person in (("a", wren), ("b", wren), ("c", reed)):
        store.write(lambda c, id_=id_, person=person: add_device(c, id_, person, id_, "a phone", NOW)).result()

    assert not store.write(lambda c: sign_out(c, "wren", "c")).result()
    assert store.write(lambda c: sign_out(c, "wren", "a")).result()
    store.write(lambda c: sign_out_everywhere(c, "reed")).result()

    assert [each.id for each in store.read(lambda c: devices_of(c, "wren"))] == ["b"]
    assert store.read(lambda c: devices_of(c, "reed")) == []


def test_one_device_too_many_signs_out_the_one_seen_longest_ago(store: Store, wren: Person) -> None:
    def many(connection: Connection) -> list[list[str]]:
        return [
            add_device(connection, f"{number}", wren, f"{number}", "", NOW + timedelta(minutes=number))[1]
            for number in range(MOST_DEVICES + 1)
        ]

    gone = store.write(many).result()

    assert gone == [[]] * MOST_DEVICES + [["0"]]
    assert len(store.read(lambda c: devices_of(c, "wren"))) == MOST_DEVICES


@pytest.mark.parametrize(
    ("agent", "said"),
    [
        ("Mozilla/5.0 (Android 14; Mobile; rv:120.0) Gecko/120.0 Firefox/120.0", "Firefox on Android"),
        ("Mozilla/5.0 (Windows NT 10.0) AppleWebKit/537.36 Chrome/120 Safari/537.36 Edg/120", "Edge on Windows"),
        ("Mozilla/5.0 (iPad; CPU OS 17_0) AppleWebKit/605 Version/17.0 Safari/604.1", "Safari on iPad"),
        ("curl/8.1", "curl"),
        ("", "a device"),
        ("<script>", "a device"),
    ],
)
def test_a_device_is_called_by_what_it_says(agent: str, said: str) -> None:
    assert device_name(agent) == said


# ------------------------------------------------------------------------------------------ passwords


@pytest.mark.parametrize(
    "typed",
    [
        "a" * 7,
        "short1!",
        "aaaaaaaaaaaa",
        "abababababab",
        "password99",
        "my qwerty keys",
        "wren likes banjos",
        "x" * 201,
    ],
)
def test_a_password_that_is_guessed_first_is_refused(typed: str) -> None:
    with pytest.raises(InputError, match="the password"):
        passwords.read_password(typed, "Wren")


@pytest.mark.parametrize("typed", ["gravel5t", "mill lane at dusk", "Fünf müde Eulen"])
def test_some_words_do(typed: str) -> None:
    assert passwords.read_password(typed, "Wren") == typed


def test_a_hash_tells_the_password_alone_and_not_itself() -> None:
    kept = passwords.hash_of("mill lane at dusk")

    assert kept.startswith("$argon2id$")
    assert "mill" not in kept
    assert passwords.is_right(kept, "mill lane at dusk")
    assert not passwords.is_right(kept, "mill lane at dawn")
    assert not passwords.is_right("no hash", "mill lane at dusk")
    assert not passwords.is_right(passwords.nobodys_hash(), "")
    assert not passwords.is_old(kept)
    assert passwords.is_old(kept.replace("t=2", "t=1"))


def test_a_new_password_takes_the_place_of_the_one_before(store: Store, wren: Person) -> None:
    for hashed in ("one", "two"):
        store.write(lambda c, hashed=hashed: passwords.keep_hash(c, "wren", hashed, BEGAN)).result()
    assert store.read(lambda c: passwords.hash_kept(c, "wren")) == "two"
    store.write(lambda c: passwords.drop_password(c, "wren")).result()
    assert store.read(lambda c: passwords.hash_kept(c, "wren")) is None


# ------------------------------------------------------------------------------------------ passkeys


def a_key(id_: str, person: str = "wren", credential: bytes = b"") -> Passkey:
    return Passkey(id_, person, credential or id_.encode(), b"\x00\xff", 2**32 - 1, "my phone", BEGAN)


def test_a_passkey_is_kept_as_it_is_and_counts_on(store: Store, wren: Person) -> None:
    store.write(lambda c: add_passkey(c, a_key("k"))).result()
    assert store.read(lambda c: passkeys_of(c, "wren")) == [a_key("k")]

    store.write(lambda c: note_used(c, "k", 7)).result()
    found = store.read(lambda c: passkey_of_credential(c, b"k"))
    assert found is not None
    assert found.count == 7
    assert store.read(lambda c: passkey_of_credential(c, b"l")) is None


def test_a_passkey_is_of_one_person_and_there_are_not_too_many(store: Store, wren: Person, reed: Person) -> None:
    store.write(lambda c: add_passkey(c, a_key("k"))).result()
    with pytest.raises(InputError, match="known already"):
        store.write(lambda c: add_passkey(c, a_key("l", "reed", b"k"))).result()
    for number in range(MOST_PASSKEYS - 1):
        store.write(lambda c, number=number: add_passkey(c, a_key(f"{number}"))).result()
    with pytest.raises(InputError, match="10 passkeys"):
        store.write(lambda c: add_passkey(c, a_key("m"))).result()

    assert not store.write(lambda c: remove_passkey(c, "reed", "k")).result()
    assert store.write(lambda c: remove_passkey(c, "wren", "k")).result()


# ------------------------------------------------------------------------------------------ consent


def test_the_last_consent_is_told_with_its_date(store: Store, wren: Person) -> None:
    first, again = (
        Consent("1", "2026-03-01T10:00:00Z", guardian=False),
        Consent("1", "2026-03-02T10:00:00Z", guardian=True),
    )
    other = Consent("2", "2026-03-03T10:00:00Z", guardian=True)
    assert store.read(lambda c: consent_of(c, "wren")) is None
    for each in (first, again):
        store.write(lambda c, each=each: agree(c, "wren", each)).result()
        assert store.read(lambda c: consent_of(c, "wren")) == each
    store.write(lambda c: agree(c, "wren", other)).result()
    assert store.read(lambda c: consent_of(c, "wren")) == other
