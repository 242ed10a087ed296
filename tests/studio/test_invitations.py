"""Invitations: once, within their days, and by nobody else; and access that is given back."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from functools import partial
from threading import Barrier

import pytest
from sqlalchemy import Connection

from coach.errors import CoachError, InputError
from coach.records.played import players_in
from coach.records.store import Store
from coach.studio.devices import add_device, devices_of
from coach.studio.invitations import (
    KEPT_DAYS,
    MOST_OPEN,
    Invitation,
    invitations_of,
    invite,
    look_at,
    sweep_invitations,
    take,
    withdraw,
)
from coach.studio.members import MemberRole, add_person, members_of, open_studio
from coach.studio.passkeys import Passkey, add_passkey, passkeys_of
from coach.studio.passwords import hash_kept, keep_hash
from coach.studio.people import Person, StudioName

NOW = datetime(2026, 3, 2, 10, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture
def studio(store: Store) -> StudioName:
    return store.write(lambda c: open_studio(c, "Mill", "2026-03-01T10:00:00Z")).result()


@pytest.fixture
def wren(store: Store, studio: StudioName) -> Person:
    return store.write(lambda c: add_person(c, "wren", "Wren", "student", studio, "2026-03-01T10:00:00Z")).result()


def invited(
    store: Store, studio: StudioName, token: str = "t", role: MemberRole = "student", days: int = 7
) -> Invitation:
    return store.write(lambda c: invite(c, studio, role, id=f"i-{token}", token=token, when=NOW, days=days)).result()


def taken(store: Store, token: str, name: str, when: datetime = NOW, new: str = "new") -> tuple[Person, bool]:
    return store.write(lambda c: take(c, token, name, id=new, when=when)).result()


def test_who_takes_it_is_in_the_studio_and_among_the_players(store: Store, studio: StudioName) -> None:
    made = invited(store, studio, role="teacher")

    person, were_there = taken(store, "t", " Ruth ")

    assert (person.name, person.role, person.studio, were_there) == ("Ruth", "teacher", studio, False)
    assert [each.person for each in store.read(lambda c: members_of(c, studio.id))] == [person]
    assert store.read(players_in) == ["new"]
    assert made.expires == "2026-03-09T10:00:00Z"


def test_it_is_taken_once(store: Store, studio: StudioName) -> None:
    invited(store, studio)
    taken(store, "t", "Wren")

    with pytest.raises(InputError, match="was used"):
        taken(store, "t", "Tilda", new="another")
    with pytest.raises(InputError, match="was used"):
        store.read(lambda c: look_at(c, "t", NOW))
    assert len(store.read(lambda c: members_of(c, studio.id))) == 1


def test_of_two_who_take_it_at_once_one_comes_in(
    store: Store, studio: StudioName, open_store: Callable[[str], Store]
) -> None:
    # Two services over one database; both have seen that the invitation is there before either takes it.
    invited(store, studio)
    other = open_store(store._engine.url.render_as_string(hide_password=False))
    both = Barrier(2)

    def try_to(where: Store, name: str) -> str:
        where.read(lambda c: look_at(c, "t", NOW))
        both.wait(30)
        try:
            return taken(where, "t", name, new=name.lower())[0].name
        except CoachError as error:
            return str(error)

    with ThreadPoolExecutor(2) as pool:
        said = list(pool.map(try_to, (store, other), ("Wren", "Tilda")))

    (member,) = store.read(lambda c: members_of(c, studio.id))
    assert member.person.name in said
    assert sum("was used" in each for each in said) == 1


def test_the_database_decides_who_was_first(store: Store, studio: StudioName, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where it looked unused a moment before."""
    found = invited(store, studio)
    taken(store, "t", "Wren")
    monkeypatch.setattr("coach.studio.invitations.look_at", lambda *_: found)

    with pytest.raises(InputError, match="was used"):
        taken(store, "t", "Tilda", new="another")


@pytest.mark.parametrize(("later", "holds"), [(DAY - timedelta(seconds=1), True), (DAY, False), (2 * DAY, False)])
def test_it_holds_until_it_expires(store: Store, studio: StudioName, later: timedelta, holds: bool) -> None:
    invited(store, studio, days=1)
    if holds:
        assert taken(store, "t", "Wren", NOW + later)[0].name == "Wren"
        return
    with pytest.raises(InputError, match="has expired"):
        taken(store, "t", "Wren", NOW + later)


def test_it_can_be_withdrawn_by_its_own_studio_until_it_is_taken(store: Store, studio: StudioName) -> None:
    first, second = invited(store, studio), invited(store, studio, "u")
    taken(store, "u", "Wren")

    def gone(studio: str, invitation: str) -> bool:
        return store.write(lambda c: withdraw(c, studio, invitation)).result()

    assert [gone("other", first.id), gone("mill", second.id), gone("mill", first.id), gone("mill", first.id)] == [
        False,
        False,
        True,
        False,
    ]
    with pytest.raises(InputError, match="no invitation, or it was withdrawn"):
        taken(store, "t", "Tilda", new="another")


@pytest.mark.parametrize("token", ["", "x", "T", "\ud800", "t" * 5000])
def test_another_token_opens_nothing(store: Store, studio: StudioName, token: str) -> None:
    invited(store, studio)
    with pytest.raises(InputError, match="no invitation"):
        store.read(lambda c: look_at(c, token, NOW))


def test_a_name_that_somebody_has_leaves_the_invitation_as_it_was(
    store: Store, studio: StudioName, wren: Person
) -> None:
    invited(store, studio)
    with pytest.raises(InputError, match="somebody in Mill is called WREN already"):
        taken(store, "t", "WREN")
    with pytest.raises(InputError, match="nothing that could be read"):
        taken(store, "t", "...")

    assert taken(store, "t", "Wren Hill")[0].id == "new"


def test_the_same_name_may_be_had_in_another_studio(store: Store, wren: Person) -> None:
    other = store.write(lambda c: open_studio(c, "Brook", "2026-03-01T10:00:00Z")).result()
    invited(store, other)
    assert taken(store, "t", "Wren")[0].studio == other


def test_access_given_back_ends_what_they_came_in_by_before(store: Store, studio: StudioName, wren: Person) -> None:
    def have(connection: Connection) -> None:
        add_device(connection, "phone", wren, "d", "a phone", NOW)
        keep_hash(connection, wren.id, "hash", "2026-03-01T10:00:00Z")
        add_passkey(connection, Passkey("k", wren.id, b"c", b"p", 0, "key", "2026-03-01T10:00:00Z"))
        invite(connection, studio, "teacher", id="back", token="t", when=NOW, days=1, person=wren)

    store.write(have).result()

    person, were_there = taken(store, "t", "whatever")

    assert (person, were_there) == (wren, True)  # a student, with the name of before
    assert store.read(lambda c: (devices_of(c, "wren"), hash_kept(c, "wren"), passkeys_of(c, "wren"))) == ([], None, [])


def test_a_new_link_for_somebody_takes_the_place_of_the_one_before(
    store: Store, studio: StudioName, wren: Person
) -> None:
    for token in ("old", "new"):
        store.write(
            partial(invite, studio=studio, role="student", id=token, token=token, when=NOW, days=7, person=wren)
        ).result()

    with pytest.raises(InputError, match="withdrawn"):
        store.read(lambda c: look_at(c, "old", NOW))
    assert store.read(lambda c: look_at(c, "new", NOW)).person == wren


def test_no_more_wait_than_may(store: Store, studio: StudioName) -> None:
    def many(connection: Connection) -> None:
        for number in range(MOST_OPEN):
            invite(connection, studio, "student", id=f"{number}", token=f"{number}", when=NOW, days=1)

    store.write(many).result()

    with pytest.raises(InputError, match="200 invitations wait"):
        invited(store, studio)
    later = NOW + DAY  # they have expired
    store.write(lambda c: invite(c, studio, "student", id="i", token="t", when=later, days=1)).result()


def test_the_list_is_of_the_studio_alone_and_old_ones_go(store: Store, studio: StudioName) -> None:
    other = store.write(lambda c: open_studio(c, "Brook", "2026-03-01T10:00:00Z")).result()
    invited(store, other, "other")
    invited(store, studio, days=1)

    assert [each.id for each in store.read(lambda c: invitations_of(c, studio))] == ["i-t"]

    ended = NOW + DAY + timedelta(days=KEPT_DAYS)
    store.write(lambda c: sweep_invitations(c, ended)).result()
    assert [each.id for each in store.read(lambda c: invitations_of(c, studio))] == ["i-t"]
    store.write(lambda c: sweep_invitations(c, ended + timedelta(seconds=1))).result()
    assert store.read(lambda c: invitations_of(c, studio)) == []
