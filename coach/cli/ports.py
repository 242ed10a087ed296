"""``coach ports``: the MIDI inputs and outputs, and what is missing."""

from __future__ import annotations

import click

__all__ = ["ports"]


@click.command(epilog="Example: coach ports")
def ports() -> None:
    """List MIDI inputs and outputs, and say what is missing when there are none."""
    from coach.service.ports import RtMidiDriver

    driver = RtMidiDriver()
    found = driver.ports()
    driver.close()
    for what, names in (("Inputs", found.inputs), ("Outputs", found.outputs)):
        click.echo(f"{what}:" if names else f"{what}: none")
        for name in names:
            click.echo(f"  {name}")
    if found.missing:
        click.echo(found.missing)
