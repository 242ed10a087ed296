"""Names of ports, and their numbers."""

import pytest

from coach.service.port_names import found_again, unnumbered


# As ALSA's sequencer through the library, its bridge to JACK, and JACK itself write them (seen on Debian, and from
# memory for the bridge).
@pytest.mark.parametrize(
    ("name", "bare"),
    [
        ("Banjo:out 20:0", "Banjo:out"),
        ("a2j:Banjo [20] (capture): out", "a2j:Banjo (capture): out"),
        ("banjo-01:out", "banjo:out"),
        ("banjo:out", "banjo:out"),
        ("Keys 2", "Keys 2"),
        ("Pick-10 Pro:out", "Pick-10 Pro:out"),
        ("", ""),
    ],
)
def test_what_the_system_numbers_is_left_out(name: str, bare: str) -> None:
    assert unnumbered(name) == bare


@pytest.mark.parametrize(
    ("there", "found"),
    [
        (("Banjo:out 20:0", "Banjo:out 24:0"), "Banjo:out 20:0"),
        (("Keys:out 16:0", "Banjo:out 24:0"), "Banjo:out 24:0"),
        (("Banjo:out 24:0", "Banjo:out 28:0"), None),
        (("Keys:out 20:0",), None),
        ((), None),
    ],
)
def test_a_port_is_found_by_its_name_else_by_all_but_its_number(there: tuple[str, ...], found: str | None) -> None:
    assert found_again("Banjo:out 20:0", there) == found
