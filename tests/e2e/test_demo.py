"""``coach demo`` in the browser: nothing is needed but a press on Start."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from real_parts import Served

PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True}


def test_on_a_phone_the_virtual_player_plays_and_the_next_rung_is_offered(
    serve: Callable[..., Served], watched: Callable[..., Any]
) -> None:
    served = serve("--ability", 60, "--seed", 3, command="demo")
    seen = watched(**PHONE)
    page: Page = seen.open(served.url)
    if page.locator("#choice").get_attribute("open") is None:
        page.locator("#choice summary").click()
    seen.set("last", 3)
    seen.set("tempo", 120)
    expect(page.locator("#cautions")).to_be_visible()

    page.locator("#toggle").click()
    expect(page.locator("#toggle .label")).to_have_text("Stop")
    expect(page.locator("#cautions")).to_be_hidden()
    expect(page.locator("#m2.sounding")).to_be_visible()
    expect(page.locator("#report-head")).to_have_text(re.compile("^Pass 1: "))

    expect(page.locator("#rung-what")).to_have_text(
        re.compile(r"^beginner, [\d.]+ quarters a minute .*measures 1 to 3$")
    )
    expect(page.locator("#rung-why")).to_have_text(re.compile(r"\.$"))
    report = seen.last("report")
    assert report["summary"]["played_share"] > 0.5
    wrong = {message["id"] for message in seen.told if message["kind"] == "verdict" and message["verdict"] != "on time"}
    assert {note for note, verdict in seen.marks() if verdict != "extra"} == wrong - {None}
    assert seen.marks()

    with seen.hears("begin", number=2) as begin:
        page.locator("#next").click()
    assert json.loads(begin.value)["tempo"] == pytest.approx(report["rung"]["tempo"], abs=0.1)
    expect(page.locator("#sheet .mark")).to_have_count(0)
