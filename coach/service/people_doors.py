"""What people of a studio ask of their own access: coming in, coming back, and what they come back by."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import TYPE_CHECKING, Annotated, Any
from urllib.parse import urlsplit

from msgspec import Meta, Struct
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from coach.errors import InputError
from coach.service.accounts import Accounts, new_id
from coach.service.bodies import Nothing, answer_json, read_body
from coach.service.challenges import Challenges
from coach.service.guard import failure
from coach.service.limits import Limit, caller
from coach.service.service import Service
from coach.service.signed_in import cookie, cookie_name, device_of, is_secure, origin_of, permit, person_of, refused
from coach.service.who import Who, who_is
from coach.studio.names import folded, read_name, slug
from coach.studio.people import Person

if TYPE_CHECKING:
    from collections.abc import Callable

    from sqlalchemy import Connection

__all__ = ["routes"]

ShortName = Annotated[str, Meta(max_length=200)]
"""Longer than a name may be: what is wrong with it is said in words."""

Token = Annotated[str, Meta(max_length=200)]
Password = Annotated[str, Meta(max_length=1000)]


class SignIn(Struct, forbid_unknown_fields=True):
    """Coming back by a password."""

    studio: ShortName
    name: ShortName
    password: Password


class SignOut(Struct, forbid_unknown_fields=True):
    """Signing out here, or everywhere."""

    everywhere: bool = False


class NewPassword(Struct, forbid_unknown_fields=True):
    """A password from now on; an empty one takes it away."""

    password: Password


class NewPasskey(Struct, forbid_unknown_fields=True):
    """A passkey that a browser made."""

    credential: dict[str, Any]
    name: ShortName = ""


class UsedPasskey(Struct, forbid_unknown_fields=True):
    """A passkey that a browser used."""

    credential: dict[str, Any]


class Invited(Struct, forbid_unknown_fields=True):
    """The token of an invitation."""

    token: Token


class Joining(Struct, forbid_unknown_fields=True):
    """Taking an invitation; who does agrees to the words that were shown."""

    token: Token
    agrees: bool
    name: ShortName = ""
    guardian: bool = False


def routes(service: Service) -> list[Route]:
    """The addresses of people's own access."""
    doors = _PeopleDoors(service, service.accounts)
    who = Route("/who.json", doors.who)
    if service.accounts is None:
        return [who]

    def post(path: str, door: Any) -> Route:
        return Route(path, door, methods=["POST"])

    return [
        who,
        post("/people/sign-in", doors.sign_in),
        post("/people/sign-out", doors.sign_out),
        post("/people/password", doors.password),
        post("/people/passkey-options", doors.passkey_options),
        post("/people/passkeys", doors.add_passkey),
        post("/people/passkeys/{id}/remove", doors.remove_passkey),
        post("/people/passkey-sign-in-options", doors.passkey_sign_in_options),
        post("/people/passkey-sign-in", doors.passkey_sign_in),
        post("/people/invitation", doors.invitation),
        post("/people/join", doors.join),
    ]


class _PeopleDoors:
    """What is behind each."""

    def __init__(self, service: Service, accounts: Accounts | None) -> None:
        self._service = service
        self._maybe = accounts
        self._challenges = Challenges(service.now)
        self._by_caller = Limit(10, 60.0, service.now)
        self._by_account = Limit(5, 60.0, service.now)
        self._looks = Limit(20, 60.0, service.now)
        # One at a time: each takes some 20 MB and a good while of a core.
        self._hashing = ThreadPoolExecutor(max_workers=1, thread_name_prefix="passwords")

    @property
    def _accounts(self) -> Accounts:
        assert self._maybe is not None
        return self._maybe

    async def who(self, request: Request) -> Response:
        """Who is asking, who may be nobody."""
        person: Person | None = request.scope["state"]["person"]
        if self._maybe is None:
            return answer_json(Who(studio=False))
        return answer_json(await who_is(self._accounts, person, device_of(request)))

    async def sign_in(self, request: Request) -> Response:
        """By a password."""
        from coach.studio import passwords

        asked = await read_body(request, SignIn)
        self._by_caller.take(caller(request))
        # As it is looked for: an account has many spellings.
        self._by_account.take(f"{slug(asked.studio)}/{folded(asked.name)[:80]}")
        person, kept = await self._accounts.records.ask(partial(_found, asked=asked))
        # A hash is asked in any case: how long it takes tells nothing.
        right = await self._slowly(lambda: passwords.is_right(kept or passwords.nobodys_hash(), asked.password))
        if person is None or kept is None or not right:
            refused(person, "sign-in", "" if person is None else person.id)
            return failure("No such studio, name and password; try again, or ask your teacher to let you in.", 403)
        answer = await self._signed_in(request, person, lambda c: passwords.hash_kept(c, person.id) == kept)
        if passwords.is_old(kept):
            await self._keep_password(person, asked.password)
        return answer

    async def sign_out(self, request: Request) -> Response:
        """Here, or everywhere; whoever is signed out already stays so."""
        asked, device = await read_body(request, SignOut), device_of(request)
        if device is not None:
            if asked.everywhere:
                await self._accounts.sign_out_everywhere(device.person.id)
            else:
                await self._accounts.sign_out(device.person.id, device.id)
        answer = answer_json(await who_is(self._accounts, None, None))
        self._set_cookie(request, answer, "")
        return answer

    async def password(self, request: Request) -> Response:
        """Set, change or take away one's password."""
        from coach.studio import passwords

        person, asked = self._own(request), await read_body(request, NewPassword)
        self._by_account.take(person.id)
        if asked.password:
            await self._keep_password(person, passwords.read_password(asked.password, person.name))
        else:
            await self._accounts.records.change(partial(passwords.drop_password, person=person.id))
        return await self._who_answer(request, person)

    async def passkey_options(self, request: Request) -> Response:
        """What a browser needs to make one."""
        from coach.studio.ceremonies import options_to_make
        from coach.studio.passkeys import passkeys_of

        person = self._own(request)
        await read_body(request, Nothing)
        have = await self._accounts.records.ask(partial(passkeys_of, person=person.id))
        return answer_json(options_to_make(_party(request), person, self._challenges.new(person.id), have))

    async def add_passkey(self, request: Request) -> Response:
        """Keep the one that a browser made."""
        from coach.records.played import moment
        from coach.studio.ceremonies import challenge_of, made
        from coach.studio.passkeys import Passkey, add_passkey

        person, asked = self._own(request), await read_body(request, NewPasskey)
        name = read_name(asked.name, of="name of the passkey") if asked.name.strip() else "a passkey"
        challenge = challenge_of(asked.credential)
        if not self._challenges.take(challenge, person.id):
            raise InputError("this took too long", cure="try again")
        credential, key, count = made(_party(request), asked.credential, challenge)
        new = Passkey(new_id(), person.id, credential, key, count, name, moment(self._accounts.wall()))
        await self._accounts.records.change(partial(add_passkey, passkey=new))
        return await self._who_answer(request, person)

    async def remove_passkey(self, request: Request) -> Response:
        """One of one's own."""
        from coach.studio.passkeys import remove_passkey

        person = self._own(request)
        change = partial(remove_passkey, person=person.id, id=request.path_params["id"])
        if not await self._accounts.records.change(change):
            raise InputError("there is no such passkey", cure="load the page anew")
        return await self._who_answer(request, person)

    async def passkey_sign_in_options(self, request: Request) -> Response:
        """What a browser needs to use one."""
        from coach.studio.ceremonies import options_to_use

        await read_body(request, Nothing)
        self._by_caller.take(caller(request))
        return answer_json(options_to_use(_party(request), self._challenges.new("")))

    async def passkey_sign_in(self, request: Request) -> Response:
        """By a passkey."""
        from coach.studio.ceremonies import challenge_of, credential_of, used
        from coach.studio.passkeys import note_used, passkey_of_credential

        asked = await read_body(request, UsedPasskey)
        self._by_caller.take(caller(request))
        challenge = challenge_of(asked.credential)
        if not self._challenges.take(challenge, ""):
            raise InputError("this took too long", cure="try again")
        query = partial(passkey_of_credential, credential=credential_of(asked.credential))
        passkey = await self._accounts.records.ask(query)
        person = None if passkey is None else await self._accounts.person(passkey.person)
        if passkey is None or person is None:
            refused(None, "passkey-sign-in", "")
            return failure("This passkey is not known here; use another, or your password.", 403)
        count = used(_party(request), asked.credential, challenge, passkey)
        await self._accounts.records.change(partial(note_used, id=passkey.id, count=count))
        return await self._signed_in(
            request, person, lambda c: passkey_of_credential(c, passkey.credential) is not None
        )

    async def invitation(self, request: Request) -> Response:
        """What an invitation is for, before it is taken."""
        from coach.studio.consents import VERSION, WORDS
        from coach.studio.invitations import look_at

        asked = await read_body(request, Invited)
        self._looks.take(caller(request))
        found = await self._accounts.records.ask(partial(look_at, token=asked.token, when=self._accounts.wall()))
        return answer_json(
            {
                "studio": found.studio.name,
                "role": found.role,
                "by": found.by,
                "person": "" if found.person is None else found.person.name,
                "expires": found.expires,
                "consent": {"version": VERSION, "words": WORDS},
            }
        )

    async def join(self, request: Request) -> Response:
        """Take an invitation, and be signed in here."""
        asked = await read_body(request, Joining)
        self._looks.take(caller(request))
        if not asked.agrees:
            raise InputError("nobody comes in who does not agree to what is kept", cure="agree, or leave it")
        person, were_there = await self._accounts.records.change(
            partial(_joined, asked=asked, when=self._accounts.wall)
        )
        if were_there:
            self._accounts.let_go(lambda device: device.person.id == person.id)
        self._service.people_changed(person.studio)
        return await self._signed_in(request, person)

    def _own(self, request: Request) -> Person:
        person = person_of(request)
        permit(person, "manage own access", person)
        return person

    async def _keep_password(self, person: Person, password: str) -> None:
        from coach.records.played import moment
        from coach.studio import passwords

        hashed = await self._slowly(lambda: passwords.hash_of(password))
        when = moment(self._accounts.wall())
        await self._accounts.records.change(partial(passwords.keep_hash, person=person.id, hashed=hashed, when=when))

    async def _slowly(self, work: Any) -> Any:
        return await asyncio.get_running_loop().run_in_executor(self._hashing, work)

    async def _who_answer(self, request: Request, person: Person) -> Response:
        return answer_json(await who_is(self._accounts, person, device_of(request)))

    async def _signed_in(
        self, request: Request, person: Person, still: Callable[[Connection], bool] = lambda _: True
    ) -> Response:
        """Sign somebody in on the device that asks, in place of who was signed in there."""
        before = device_of(request)
        if before is not None:
            await self._accounts.sign_out(before.person.id, before.id)
        token = await self._accounts.sign_in(person, request.headers.get("user-agent", ""), still)
        answer = answer_json(await who_is(self._accounts, person, await self._accounts.device(token)))
        self._set_cookie(request, answer, token)
        return answer

    @staticmethod
    def _set_cookie(request: Request, answer: Response, token: str) -> None:
        secure = is_secure(request)
        answer.headers.append("Set-Cookie", cookie(cookie_name(secure=secure), token, secure=secure))


def _found(connection: Connection, asked: SignIn) -> tuple[Person | None, str | None]:
    """Whom somebody says to be, and the hash of their password."""
    from coach.studio.members import known_studio, person_named
    from coach.studio.passwords import hash_kept

    typed = asked.studio.strip().casefold()
    studio = known_studio(connection, typed) or known_studio(connection, slug(typed))
    person = None if studio is None else person_named(connection, studio.id, asked.name)
    return person, None if person is None else hash_kept(connection, person.id)


def _joined(connection: Connection, asked: Joining, when: Any) -> tuple[Person, bool]:
    from coach.records.played import moment
    from coach.studio.consents import VERSION, Consent, agree
    from coach.studio.invitations import take

    person, were_there = take(connection, asked.token, asked.name, id=new_id(), when=when())
    agree(connection, person.id, Consent(VERSION, moment(when()), asked.guardian))
    return person, were_there


def _party(request: Request) -> Any:
    from coach.studio.ceremonies import Party

    origin = origin_of(request)
    return Party(urlsplit(origin).hostname or "", origin)
