"""``coach ports``: the MIDI inputs and outputs, and what is missing."""

from __future__ import annotations

import click

__all__ = ["ports"]


@click.command(epilog="Example: coach ports")
def ports() -> None:
    """List MIDI inputs and outputs, and say what is missing when there are none."""
    from coach.service.ports import VIRTUAL_INPUT, RtMidiDriver

    driver = RtMidiDriver()
    found = driver.ports()
    driver.close()
    inputs = tuple(name for name in found.inputs if name != VIRTUAL_INPUT)
    for what, names in (("Inputs", inputs), ("Outputs", found.outputs)):
        click.echo(f"{what}:" if names else f"{what}: none")
        for name in names:
            click.echo(f"  {name}")
    if VIRTUAL_INPUT in found.inputs:
        click.echo(f"{VIRTUAL_INPUT}: an input of our own, to which another program can be connected")
    if found.missing:
        click.echo(found.missing)
