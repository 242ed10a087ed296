"""Ports in use: taken up, let go and taken up again, under whatever number they have then."""

from __future__ import annotations

from typing import Any

import pytest

from coach.errors import PortError
from coach.service.ports import VIRTUAL_INPUT
from coach.service.watched import Watched


def watched(driver: Any) -> tuple[Watched, list[str]]:
    said: list[str] = []
    return Watched(driver, lambda stamp, data: None, said.append), said


def test_the_only_input_is_taken_up_without_asking(make_driver: Any) -> None:
    driver = make_driver(("banjo", VIRTUAL_INPUT))
    ports, said = watched(driver)

    assert ports.look()
    assert driver.open_in == ports.input == "banjo"
    assert said == ["MIDI input 'banjo' is in use."]
    assert not ports.look()


def test_with_two_inputs_the_player_chooses(make_driver: Any) -> None:
    driver = make_driver(("banjo", "keys"))
    ports, _ = watched(driver)
    ports.look()
    assert driver.open_in is None

    ports.want_input("keys")

    assert driver.open_in == ports.input == "keys"


def test_a_port_that_vanishes_is_said_and_taken_up_when_back(make_driver: Any) -> None:
    driver = make_driver(("banjo",), ("synth",))
    ports, said = watched(driver)
    ports.look()
    ports.want_output("synth")
    driver.inputs = driver.outputs = ()
    ports.look()
    assert (ports.input, ports.output, ports.send) == (None, None, None)
    assert "MIDI input 'banjo' has vanished; it is taken up again when it is back." in said
    assert "MIDI output 'synth' has vanished; it is taken up again when it is back." in said

    driver.inputs, driver.outputs = ("banjo",), ("synth",)
    ports.look()

    assert (ports.input, ports.output) == ("banjo", "synth")
    assert ports.send is not None
    ports.send(b"\x90\x40\x40")
    assert driver.sent == [b"\x90\x40\x40"]


def test_a_port_that_is_not_there_is_refused_and_taken_up_when_it_comes(make_driver: Any) -> None:
    driver = make_driver()
    ports, _ = watched(driver)
    with pytest.raises(PortError, match="not there"):
        ports.want_input("banjo")

    driver.inputs = ("keys", "banjo")
    ports.look()

    assert ports.input == "banjo"


def test_wanting_none_keeps_the_input_closed(make_driver: Any) -> None:
    driver = make_driver(("banjo",))
    ports, _ = watched(driver)
    ports.look()
    ports.want_input(None)
    ports.look()

    assert driver.open_in is None
    assert ports.input is None


def test_an_instrument_that_comes_back_with_another_number_is_the_same(make_driver: Any) -> None:
    driver = make_driver(("Banjo:out 20:0", "Keys:out 24:0"), ("Synth:in 28:0",))
    ports, said = watched(driver)
    ports.want_input("Banjo:out 20:0")
    ports.want_output("Synth:in 28:0")
    ports.look()

    driver.inputs, driver.outputs = ("Keys:out 24:0", "Banjo:out 32:0"), ("Synth:in 36:0",)
    lost: list[str] = []
    ports.look(lambda: lost.append("input"))

    assert driver.open_in == ports.input == "Banjo:out 32:0"
    assert ports.output == "Synth:in 36:0"
    assert lost == ["input"]  # though it is back already
    assert said[-2:] == [
        "MIDI output 'Synth:in 28:0' has vanished; it is taken up again when it is back.",
        "MIDI output 'Synth:in 36:0' is in use.",
    ]


def test_its_twin_that_was_there_beside_it_is_another_instrument(make_driver: Any) -> None:
    driver = make_driver(("Banjo:out 20:0", "Banjo:out 24:0"))
    ports, _ = watched(driver)
    ports.want_input("Banjo:out 20:0")
    ports.look()
    driver.inputs = ("Banjo:out 24:0",)
    ports.look()
    assert ports.input is None

    driver.inputs = ("Banjo:out 24:0", "Banjo:out 28:0")
    ports.look()

    assert ports.input == "Banjo:out 28:0"


def test_of_two_new_ones_that_could_be_it_none_is_taken(make_driver: Any) -> None:
    driver = make_driver(("Banjo:out 20:0",))
    ports, _ = watched(driver)
    ports.look()
    driver.inputs = ("Banjo:out 24:0", "Banjo:out 28:0")
    ports.look()
    assert ports.input is None

    driver.inputs = ("Banjo:out 28:0",)
    ports.look()

    assert ports.input == "Banjo:out 28:0"


def test_a_foot_switch_has_an_input_of_its_own_that_vanishes_and_comes_back(make_driver: Any) -> None:
    driver = make_driver(("banjo", "board"))
    ports, said = watched(driver)
    ports.want_foot("board")
    ports.look()
    assert (driver.open_in, driver.open_foot) == ("banjo", "board")  # the only other one is the instrument
    driver.inputs = ("banjo",)
    lost: list[str] = []
    ports.look(lambda: lost.append("input"), lambda: lost.append("foot"))
    assert (driver.open_in, driver.open_foot, lost) == ("banjo", None, ["foot"])
    assert said[-1] == "MIDI input of the foot switch 'board' has vanished; it is taken up again when it is back."

    driver.inputs = ("banjo", "board")
    ports.look()

    assert (driver.open_in, driver.open_foot) == ("banjo", "board")


def test_one_input_is_not_both_the_instruments_and_the_foot_switchs(make_driver: Any) -> None:
    driver = make_driver(("banjo", "board"))
    ports, _ = watched(driver)
    ports.want_input("banjo")
    with pytest.raises(PortError, match="cannot be the instrument's and the foot switch's own; a switch that sends"):
        ports.want_foot("banjo")
    ports.want_foot("board")
    with pytest.raises(PortError, match="'board' cannot be the instrument's"):
        ports.want_input("board")

    assert (ports.input, ports.foot) == ("banjo", "board")


def test_the_player_is_told_of_all_that_vanished_and_of_what_is_back(make_driver: Any) -> None:
    driver = make_driver(("banjo",), ("synth",))
    ports, _ = watched(driver)
    ports.look()
    ports.want_output("synth")
    assert ports.notice == ""
    driver.inputs = driver.outputs = ()
    ports.look()
    gone = "has vanished; it is taken up again when it is back."
    assert ports.notice == f"MIDI input 'banjo' {gone} MIDI output 'synth' {gone}"

    driver.inputs = ("banjo",)
    ports.look()
    assert ports.notice == f"MIDI input 'banjo' is back. MIDI output 'synth' {gone}"
    driver.outputs = ("synth",)
    ports.look()
    assert ports.notice == "MIDI input 'banjo' is back. MIDI output 'synth' is back."

    driver.outputs = ()
    ports.look()
    assert ports.notice == f"MIDI output 'synth' {gone}"  # the rest is old
    with pytest.raises(PortError):
        ports.want_output("other")
    assert ports.notice == ""


def test_one_that_is_back_by_the_next_look_is_told_to_be_back(make_driver: Any) -> None:
    driver = make_driver(("Banjo:out 20:0",))
    ports, _ = watched(driver)
    ports.look()
    driver.inputs = ("Banjo:out 32:0",)
    ports.look()

    assert ports.notice == "MIDI input 'Banjo:out 32:0' is back."
