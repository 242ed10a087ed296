"""``coach forget``: takes out all that is kept of a player."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

import click

from coach.cli.kept import Told, data_folder, open_records, records_options, sessions_folder, told_of
from coach.errors import InputError

__all__ = ["forget"]


@click.command(epilog="Example: coach forget --player home")
@click.option("--player", required=True, help="Whose; the name of the session.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@records_options
def forget(player: str, yes: bool, data: Path | None, records: str | None) -> None:
    """Take out all that is kept of a player: the records and the takes. It cannot be undone; see coach export."""
    from coach.records.leaving import forget as take_out
    from coach.service.leaving import person_folders, take_away
    from coach.service.recovery import owned

    with open_records(data, records) as store:
        root = sessions_folder(data)
        with owned(root) if root.is_dir() else nullcontext(True) as is_ours:
            if not is_ours:
                raise InputError(
                    "a service is running that keeps what is played there", where=str(root), cure="end it first"
                )
            told = told_of(store, data, player)
            if not yes and not _agreed(player, told):
                click.echo("Nothing was forgotten.")
                return
            # The takes go first: while something is left of them, the records still tell whose they are.
            take_away([*told.folders, *person_folders(data_folder(data), player)])
            store.write(lambda connection: take_out(connection, player)).result()
    click.echo(f"Forgot {player}: {told} are gone.")


def _agreed(player: str, told: Told) -> bool:
    """Ask.

    Raises:
        InputError: when nobody is there to answer.
    """
    try:
        return click.confirm(f"Forget {player}: {told}? This cannot be undone")
    except click.Abort:
        raise InputError("nobody answered, so nothing was forgotten", cure="answer, or say --yes") from None
