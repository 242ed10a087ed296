"""Settings that come back the next day."""

from __future__ import annotations

import json
from dataclasses import fields, replace

import pytest

from coach.service.kept_settings import read_settings, settings_record, tune_of
from coach.service.settings import Chosen, changed

CHOSEN = Chosen(
    tune="mill-lane-1f3a9c20",
    tier="intermediate",
    tempo=72.0,
    goal=110.0,
    floor=50.0,
    first=5,
    last=6,
    mix=(5, 13),
    solo_level=0.2,
    keep_going=True,
    tolerance_ms=40.0,
    foot_next="CC 64",
    policy="steps",
    step=2.0,
    clean_needed=3,
)


def test_what_was_chosen_comes_back_through_a_text() -> None:
    record = json.loads(json.dumps(settings_record(CHOSEN)))
    back = changed(Chosen(), read_settings(record, of_tune=False))
    back = changed(back, read_settings(record, of_tune=True))

    assert tune_of(record) == CHOSEN.tune
    assert replace(back, tune=CHOSEN.tune) == CHOSEN


def test_what_belongs_to_the_instrument_or_its_ports_is_not_among_it() -> None:
    left_out = {field.name for field in fields(Chosen)} - set(settings_record(CHOSEN))

    assert left_out == {"latency_ms", "latency_by_string", "string_channels", "sound", "bounce"}


@pytest.mark.parametrize(
    ("name", "value"), [("goal", "fast"), ("goal", 5000.0), ("floor", 130.0), ("mix", ["x"]), ("tier", "expert")]
)
def test_one_that_cannot_be_chosen_is_left_out_and_the_others_come_back(name: str, value: object) -> None:
    record = settings_record(replace(CHOSEN, goal=120.0)) | {name: value}

    message = read_settings(record, of_tune=True)

    assert getattr(message, name) is None
    assert message.first == 5


def test_nothing_kept_chooses_nothing() -> None:
    assert changed(CHOSEN, read_settings({}, of_tune=True)) == CHOSEN
    assert tune_of({}) == tune_of({"tune": 5}) == ""
