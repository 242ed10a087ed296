"""``coach replay``: plays a recorded session again and prints the report that it had when it was live."""

from __future__ import annotations

from pathlib import Path

import click

__all__ = ["replay"]


@click.command(epilog="Example: coach replay sample_sessions/first-evening --json")
@click.argument("folder", type=click.Path(path_type=Path), metavar="FOLDER")
@click.option("--json", "as_json", is_flag=True, help="Print the report as JSON (report/1), as it lies in the folder.")
def replay(folder: Path, as_json: bool) -> None:
    """Play the session recorded in FOLDER through the code that judged it live, and print its report."""
    from rich.console import Console

    from coach.cli.report import print_report
    from coach.takes.replay import replay as play_again
    from coach.takes.replay import report_text
    from coach.takes.sessions import read_session

    reports = play_again(read_session(folder))
    if as_json:
        if reports:
            click.echo(report_text(reports), nl=False)
        return
    console = Console(highlight=False)
    for report in reports:
        print_report(report, console)
    if not reports:
        click.echo("No pass of this session was heard: the player marked each one.")
