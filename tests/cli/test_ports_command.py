"""``coach ports``."""

from __future__ import annotations

import pytest
from click.testing import CliRunner

from coach.cli.ports import ports
from coach.service.ports import VIRTUAL_INPUT, PortList, RtMidiDriver

OWN = "coach in: an input of our own, to which another program can be connected\n"


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (PortList((VIRTUAL_INPUT,), (), "Jack shows no MIDI input."), f"Inputs: none\nOutputs: none\n{OWN}Jack shows "),
        (PortList(("banjo", VIRTUAL_INPUT), ("synth",), ""), f"Inputs:\n  banjo\nOutputs:\n  synth\n{OWN}"),
        (PortList((), (), "No MIDI answers."), "Inputs: none\nOutputs: none\nNo MIDI answers."),
    ],
)
def test_the_input_of_our_own_is_no_instrument(monkeypatch: pytest.MonkeyPatch, found: PortList, words: str) -> None:
    monkeypatch.setattr(RtMidiDriver, "ports", lambda _self: found)
    done = CliRunner().invoke(ports)

    assert done.exit_code == 0
    assert done.stdout.startswith(words)
