"""Somebody of a studio leaves, and nothing of them stays."""

from __future__ import annotations

import asyncio
import shutil
from functools import partial
from pathlib import Path

from coach.errors import InputError
from coach.service.leaving import session_folders, take_away
from coach.service.service import Service
from coach.studio.people import Person

__all__ = ["forget"]


async def forget(service: Service, person: Person) -> None:
    """Delete all that is kept of somebody: devices, takes, tunes of their own, what is known of their instruments, and
    last the records, which tell until then whose the rest is.

    Raises:
        InputError: when something cannot be deleted; it is told what, and the records are still there.
        RecordsError: when they cannot be reached.
    """
    from coach.records.leaving import forget as take_out
    from coach.records.leaving import players_by_folder

    assert service.accounts is not None
    await service.accounts.sign_out_everywhere(person.id)  # from now on nothing new comes of them
    session = service.sessions.pop(person.id, None)
    if session is not None:
        session.close()
    await service.written()  # a pass that this has cut off, or that was over a moment before
    owners = await service.archive.ask(players_by_folder)
    folders = await asyncio.to_thread(session_folders, service.takes_folder, person.id, owners)
    await asyncio.to_thread(take_away, folders)
    await service.repertoire_of(person).forget(person.id)
    await asyncio.to_thread(_clear, service.folder_of(person))
    await service.archive.forget(person.id, partial(take_out, player=person.id))
    service.accounts.let_go(lambda device: device.person.id == person.id)
    service.people_changed(person.studio)


def _clear(folder: Path) -> None:
    try:
        shutil.rmtree(folder)
    except FileNotFoundError:
        pass
    except OSError as error:
        raise InputError(
            f"what is kept there cannot be deleted ({error.strerror or error})",
            where=str(folder),
            cure="tell whoever runs the service; the rest is still there, so try again",
        ) from error
