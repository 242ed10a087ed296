"""``coach studio``: opens studios, lists them, and lets teachers in; the rest they do in their browsers."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from coach.cli.kept import counted, data_folder, open_records, records_options
from coach.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sqlalchemy import Connection

    from coach.records.store import Store
    from coach.studio.people import Person, StudioName

__all__ = ["studio"]

HERE = "http://localhost:8765"
"""Where ``coach serve`` is found from the same computer."""

DAYS = 7


def _address(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--address",
        metavar="URL",
        default=HERE,
        show_default=True,
        help="Where the service is reached, as given to coach serve; the link begins with it.",
    )(command)


@click.group(epilog="Example: coach studio open 'Old Mill Studio' --address https://banjo.example")
def studio() -> None:
    """Open studios for a teacher and students who are not in the room, and let teachers in.

    A studio is served by coach serve --studio, from the same records.
    """


@studio.command("open", epilog="Example: coach studio open 'Old Mill Studio' --address https://banjo.example")
@click.argument("name", metavar="NAME")
@_address
@records_options
def open_(name: str, address: str, data: Path | None, records: str | None) -> None:
    """Open a studio of that NAME, and print the link by which its first teacher comes in, once, within seven days."""
    from coach.records.played import moment
    from coach.service.accounts import now_in_utc
    from coach.studio.members import open_studio

    origin = _origin(address)

    def change(connection: Connection) -> tuple[StudioName, str]:
        made = open_studio(connection, name, moment(now_in_utc()))
        return made, _invited(connection, made, "teacher")

    with _made_records(data, records) as store:
        made, token = store.write(change).result()
    click.echo(f"Opened {made.name}; people sign in to it as {made.id}.")
    click.echo(f"A teacher comes in here, once, within {DAYS} days:\n{origin}/join.html#{token}")


@studio.command("list", epilog="Example: coach studio list")
@records_options
def list_(data: Path | None, records: str | None) -> None:
    """List the studios in the records, and how many teachers and students they have."""
    from coach.studio.members import studios_in

    with open_records(data, records) as store:
        found = store.read(studios_in)
    if not found:
        click.echo("There is no studio yet; open one: coach studio open NAME.")
    for each, teachers, students in found:
        click.echo(f"{each.id}: {each.name}, {counted(teachers, 'teacher')}, {counted(students, 'student')}")


@studio.command(epilog="Example: coach studio invite old-mill-studio --teacher")
@click.argument("studio_id", metavar="STUDIO")
@click.option("--teacher", "is_teacher", is_flag=True, help="Let a teacher in, in place of a student.")
@click.option(
    "--again",
    metavar="NAME",
    help="Give access back to who is called so there, in place of letting somebody new in; all their devices are signed"
    " out when they take it.",
)
@_address
@records_options
def invite(
    studio_id: str, is_teacher: bool, again: str | None, address: str, data: Path | None, records: str | None
) -> None:
    """Print a new link into a STUDIO, named as coach studio list has it: also where all its teachers lost access."""
    from coach.studio.members import known_studio, person_named, studios_in

    origin = _origin(address)

    def change(connection: Connection) -> tuple[str, str]:
        found = known_studio(connection, studio_id)
        if found is None:
            names = ", ".join(each.id for each, _, _ in studios_in(connection))
            raise InputError(
                f"there is no studio {studio_id!r}",
                cure=f"there are {names}" if names else "open one: coach studio open NAME",
            )
        if again is None:
            role = "teacher" if is_teacher else "student"
            return f"A {role} comes in", _invited(connection, found, role)
        them = person_named(connection, found.id, again)
        if them is None:
            raise InputError(f"nobody in {found.name} is called {again!r}", cure="leave --again out to let them in")
        return f"{them.name} comes back in", _invited(connection, found, them.role, them)

    with open_records(data, records) as store:
        said, token = store.write(change).result()
    click.echo(f"{said} here, once, within {DAYS} days:\n{origin}/join.html#{token}")


def _origin(address: str) -> str:
    from coach.service.address import read_address

    return read_address(address).origin


def _invited(connection: Connection, studio: StudioName, role: Any, person: Person | None = None) -> str:
    from coach.service.accounts import new_id, now_in_utc
    from coach.studio.invitations import invite
    from coach.studio.tokens import TOKEN_BYTES

    token = secrets.token_urlsafe(TOKEN_BYTES)
    invite(connection, studio, role, id=new_id(), token=token, when=now_in_utc(), days=DAYS, person=person)
    return token


@contextmanager
def _made_records(data: Path | None, records: str | None) -> Iterator[Store]:
    """Open records, which are made where there are none."""
    from coach.records.store import Store, file_of, url_of
    from coach.service.archive import FILE

    url = records or url_of(data_folder(data) / FILE)
    path = file_of(url)
    if path is not None:
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(
                f"nothing can be kept there ({error.strerror or error})",
                where=str(path.parent),
                cure="name another --data",
            ) from error
    store = Store(url)
    try:
        yield store
    finally:
        store.close()
