"""The command line: one module a command, loaded when it is asked for."""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from contextlib import contextmanager

import click

from coach.errors import CoachError

__all__ = ["main"]

# Command, its module under coach.cli, and its line in the list of commands.
_COMMANDS = {
    "arrange": ("arrange", "Write a solo for a tune in one tier or in all three."),
    "demo": ("serve", "Serve with a built-in virtual player: no instrument needed."),
    "export": ("export", "Write all that is kept of a player in open formats."),
    "forget": ("forget", "Take out all that is kept of a player."),
    "ports": ("ports", "List MIDI inputs and outputs, and what is missing."),
    "progress": ("progress", "Show what was practised, and where each measure stands."),
    "replay": ("replay", "Play a recorded session again and print its report."),
    "report": ("report", "Score a recorded take against a tier."),
    "serve": ("serve", "Serve the practice page for a player and an instrument."),
    "studio": ("studio", "Open studios for a teacher and students, and let teachers in."),
    "study": ("study", "Write a study of a roll over chords."),
    "tunings": ("tunings", "List the tunings and capos that suit a tune, and why."),
}


class _LazyGroup(click.Group):
    """Imports a command's module when it is named, so that a command starts without the weight of the others."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        return sorted(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        if cmd_name not in _COMMANDS:
            return None
        module = importlib.import_module(f"coach.cli.{_COMMANDS[cmd_name][0]}")
        command = getattr(module, cmd_name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        with formatter.section("Commands"):
            formatter.write_dl([(name, _COMMANDS[name][1]) for name in sorted(_COMMANDS)])

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        with _said_in_a_line(ctx):
            return super().parse_args(ctx, args)
        raise AssertionError("either read or refused")

    def invoke(self, ctx: click.Context) -> object:
        with _said_in_a_line(ctx):
            return super().invoke(ctx)


@contextmanager
def _said_in_a_line(ctx: click.Context) -> Iterator[None]:
    """Turn what cannot be used, be it a file or an option, into one line and exit status 2."""
    try:
        yield
    except click.exceptions.NoArgsIsHelpError:
        raise
    except click.UsageError as error:
        named = (error.ctx or ctx).command_path
        what = " ".join(error.format_message().split()).rstrip(".")
        click.echo(f"coach: {what}; see {named} --help.", err=True)
        ctx.exit(2)
    except CoachError as error:
        click.echo(f"coach: {error}", err=True)
        ctx.exit(2)


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="banjo-practice-coach", prog_name="coach")
def main() -> None:
    """Banjo breaks in three tiers from any vocal tune, and a coach to practise them with.

    Example: coach arrange tune.abc --tier all -o 'break-{tier}.svg'
    """
