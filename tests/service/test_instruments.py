"""What is known of instruments, and the file that keeps it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coach.errors import InputError
from coach.listening.heard import Latency
from coach.service import instruments as instruments_module
from coach.service.instruments import Instruments, KnownInstrument

NOON = "2026-01-01T12:00:00Z"
BANJO = KnownInstrument(
    "Banjo:out 20:0",
    Latency(30.5, ((1, 28.0), (2, 29.0), (3, 30.0), (4, 37.5), (5, 27.5))),
    spread_ms=12.5,
    lean_ms=-25.0,
    is_learned=True,
    string_channels="11-15",
    when=NOON,
)


def opened(path: Path) -> Instruments:
    return Instruments(path, lambda: NOON)


def test_what_is_kept_is_known_when_the_service_begins_again(tmp_path: Path) -> None:
    path = tmp_path / "data" / "instruments.json"
    instruments = opened(path)
    assert (instruments.find("Banjo:out 20:0"), instruments.trouble) == (None, "")
    instruments.keep(BANJO)
    instruments.keep(KnownInstrument("pad", Latency(8.0)))

    again = opened(path)

    assert again.find("Banjo:out 20:0") == BANJO
    assert again.find("pad") == KnownInstrument("pad", Latency(8.0), when=NOON)
    assert again.trouble == ""
    assert [file.name for file in path.parent.iterdir()] == ["instruments.json"]


def test_an_instrument_is_known_under_another_number_where_it_can_be_no_other(tmp_path: Path) -> None:
    instruments = opened(tmp_path / "instruments.json")
    instruments.keep(BANJO)

    found = instruments.find("Banjo:out 24:0", there={"Banjo:out 24:0"})
    assert found is not None
    assert (found.name, found.latency) == ("Banjo:out 24:0", BANJO.latency)
    assert instruments.find("Banjo:out 24:0", there={"Banjo:out 20:0", "Banjo:out 24:0"}) is None

    instruments.keep(found)  # under its new number, and not twice

    assert len(json.loads((tmp_path / "instruments.json").read_text("utf-8"))["instruments"]) == 1


def broken(**fields: object) -> str:
    record = {
        "name": "banjo",
        "latency_ms": 1.0,
        "latency_by_string_ms": {},
        "spread_ms": None,
        "lean_ms": 0.0,
        "is_learned": False,
        "string_channels": "auto",
        "when": "",
    } | fields
    return json.dumps({"format": "instruments/1", "instruments": [record]})


def test_there_is_room_for_so_many_and_those_that_are_known_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(instruments_module, "MOST_KNOWN", 2)
    instruments = opened(tmp_path / "instruments.json")
    instruments.keep(BANJO)
    instruments.keep(KnownInstrument("pad", Latency(8.0)))

    with pytest.raises(InputError, match="2 instruments are known already; take out those that are gone"):
        instruments.keep(KnownInstrument("one more"))
    instruments.keep(KnownInstrument("pad", Latency(9.0)))

    again = opened(tmp_path / "instruments.json")
    assert again.find("Banjo:out 20:0") == BANJO
    assert again.find("pad") == KnownInstrument("pad", Latency(9.0), when=NOON)
    assert instruments.find("one more") is again.find("one more") is None


def test_a_file_as_it_is_described_is_read(tmp_path: Path) -> None:
    (tmp_path / "instruments.json").write_text(broken(), "utf-8")

    assert opened(tmp_path / "instruments.json").find("banjo") == KnownInstrument("banjo", Latency(1.0))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("{", "line 1 is no JSON"),
        ("[]", "something is missing or of the wrong kind"),
        ('{"format": "instruments/9", "instruments": []}', "its format is 'instruments/9', not 'instruments/1'"),
        ('{"format": "instruments/1", "instruments": [{}]}', "something is missing"),
        (broken(string_channels="2-6"), "'2-6' is no choice of channels"),
        (broken(latency_ms=1e9), "1000000000.0 is no number of milliseconds"),
        (broken(lean_ms="much"), "could not convert"),
        (broken(latency_by_string_ms={"x": 1}), "invalid literal"),
    ],
)
def test_a_file_that_cannot_be_read_is_put_aside_and_nothing_is_lost(tmp_path: Path, text: str, why: str) -> None:
    path = tmp_path / "instruments.json"
    (tmp_path / "instruments-aside-1.json").write_text("an older one", "utf-8")
    path.write_text(text, "utf-8")

    instruments = opened(path)

    aside = tmp_path / "instruments-aside-2.json"
    assert instruments.trouble.startswith("What was known of instruments cannot be read (")
    assert why in instruments.trouble
    assert instruments.trouble.endswith(f"the file is kept as {aside}; learn them again.")
    assert aside.read_text("utf-8") == text
    assert (tmp_path / "instruments-aside-1.json").read_text("utf-8") == "an older one"
    instruments.keep(BANJO)
    assert opened(path).find(BANJO.name) == BANJO


def test_a_folder_that_cannot_be_written_is_said_and_the_instrument_known_all_the_same(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file in the way of the folder", "utf-8")
    instruments = opened(tmp_path / "data" / "instruments.json")

    with pytest.raises(InputError, match=r"cannot be written .* used all the same"):
        instruments.keep(BANJO)

    assert instruments.find(BANJO.name) == BANJO


milliseconds = st.floats(-1000, 1000)


@given(
    name=st.text(max_size=20),
    ms=milliseconds,
    by_string=st.dictionaries(st.integers(1, 5), milliseconds),
    lean=milliseconds,
    spread=st.none() | milliseconds,
)
def test_whatever_is_kept_is_read_back(
    tmp_path_factory: pytest.TempPathFactory,
    name: str,
    ms: float,
    by_string: dict[int, float],
    lean: float,
    spread: float | None,
) -> None:
    path = tmp_path_factory.mktemp("instruments") / "instruments.json"
    made = KnownInstrument(name, Latency(ms, tuple(by_string.items())), spread, lean, is_learned=True, when=NOON)
    opened(path).keep(made)

    assert opened(path).find(name) == made
