"""The ladder on the page: rungs of every kind, sittings, tempo ladders, jam runs and mixed solos."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from typing import Any

from playwright.sync_api import Page, Route, expect

from coach.service import protocol

STUDY = protocol.TuneLine("forward-roll", "Forward roll over G C D G", "G major", "4/4", 4, study=True)
WALTZ = protocol.TuneLine("lamp-waltz", "Lamp Waltz", "C major", "3/4", 24)


def report(**fields: Any) -> protocol.PracticeReport:
    """The report of a pass of which nothing is to be said but what the test names."""
    fixed: dict[str, Any] = {"number": 1, "whole": True, "clean": True, "self_marked": False, "measures": []}
    fixed |= {"summary": {}, "sentences": ["Well kept."], "rung": None, "take": "", "report": ""}
    return protocol.PracticeReport(**(fixed | fields))


def mixed(fake: Any, *advanced: int) -> str:
    """Let the service have the solo with some measures of the advanced tier; returns its digest."""
    solo = copy.deepcopy(fake.arrangement)
    solo |= {"tier": "mixed", "digest": "mixed"}
    for measure in solo["measures"]:
        measure["tier"] = "advanced" if measure["number"] in advanced else "intermediate"
    fake.solos["mixed"] = solo
    return "mixed"


def settings(fake: Any, count: int) -> list[dict[str, Any]]:
    """The settings that have come, without their kind."""
    return [
        {name: value for name, value in message.items() if name != "kind"}
        for message in fake.wait_for_kind("settings", count)
    ]


def edges(page: Page, selector: str) -> list[list[float]]:
    """Left and right of each part of the page that fits, in pixels."""
    found: list[list[float]] = page.locator(selector).evaluate_all(
        "(all) => all.map((one) => one.getBoundingClientRect()).map(({left, right}) => [left, right])"
    )
    return found


def test_a_sitting_is_begun_goes_on_asks_for_a_rest_and_is_ended(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    page.get_by_role("heading", name="A sitting").click()
    expect(page.get_by_label("Minutes")).to_have_accessible_description(re.compile("never both.*means stop"))
    page.get_by_label("Minutes").fill("45")
    page.keyboard.press("Enter")
    assert fake.wait_for_kind("sitting") == [{"kind": "sitting", "minutes": 45}]

    warm_up = protocol.Rung("beginner", 60.0, 1, 4, "To warm up: a roll, slowly.", use="warm-up", tune=STUDY.id)
    fake.change(rung=warm_up, sitting=protocol.SittingState(45.0, 0.0, False))
    expect(page.locator("#rung-head")).to_have_text("Next rung: to warm up")
    expect(page.locator("#next")).to_be_enabled()
    expect(page.get_by_role("heading", name="Sitting: 0 of 45 minutes")).to_be_visible()
    expect(page.locator("#sitting")).to_be_hidden()

    fake.begin(1, sounds=False)
    rest = "Half an hour has been played: rest for five minutes."
    fake.change(state="between passes", sitting=protocol.SittingState(45.0, 31.4, True), rung=warm_up)
    fake.send(report(rest=rest, rung=warm_up))
    expect(page.locator("#rest-words")).to_have_text(rest)
    expect(page.locator("#live")).to_contain_text(rest)
    expect(page.get_by_role("progressbar", name="Sitting: 31 of 45 minutes")).to_have_attribute("value", "31.4")

    fake.begin(2, sounds=False)
    expect(page.locator("#rest")).to_be_hidden()
    expect(page.locator("#rung")).to_be_hidden()
    expect(page.locator("#sitting-end")).to_have_accessible_description("Sitting: 31 of 45 minutes")
    page.locator("#sitting-end").click()
    assert fake.wait_for_kind("sitting", 2)[1] == {"kind": "sitting", "minutes": 0}


def test_a_rung_says_what_it_is_for_and_the_coach_what_it_thinks_of_another(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    why = "Measure 6 was late in 3 of 4 passes: it alone, with a lead-in, at 72."
    spot = protocol.Rung("intermediate", 72.0, 5, 6, why, use="spot", backing=False)
    fake.change(state="between passes", number=1, rung=spot, thinks="112 is far above what is ready.")

    what = "measures 5 to 6 alone, 72 quarters a minute (36 halves); intermediate"
    expect(page.locator("#rung-head")).to_have_text("Next rung: a trouble spot")
    expect(page.locator("#rung-what")).to_have_text(what)
    expect(page.locator("#rung-why")).to_have_text(why)
    expect(page.locator("#rung-sounds")).to_have_text("With the click alone, no bass and chop.")
    expect(page.get_by_role("region", name="The coach thinks")).to_contain_text("112 is far above what is ready.")

    fake.send(protocol.Tunes([*fake.tunes, WALTZ]))
    known = protocol.Rung("beginner", 90.0, 1, 24, "To end with.", use="known", tune=WALTZ.id, title="Lamp Waltz")
    fake.change(rung=known, thinks="")
    expect(page.locator("#rung-what")).to_have_text("Lamp Waltz: beginner, 90 quarters a minute")
    expect(page.locator("#thought")).to_be_hidden()


def test_a_tempo_ladder_is_set_up_climbed_and_left_for_what_was_practised_before(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.send(protocol.Tunes([*fake.tunes, STUDY]))
    fake.change(state="between passes", number=1, rung=None, tempo=84.4)
    page.get_by_role("heading", name="A tempo ladder").click()
    expect(page.get_by_label("Start at")).to_have_value("84")
    expect(page.locator("#drill option")).to_have_text(["Measures of Reed Bank", STUDY.title])
    fake.change(tempo=84.0)
    page.get_by_label("First measure").fill("5")
    page.get_by_label("Last measure").fill("8")
    page.get_by_label("Up to", exact=True).fill("70")
    page.get_by_role("button", name="Set up the ladder").click()
    expect(page.get_by_role("alert")).to_have_text("The goal has to be no slower than the start.")
    page.get_by_label("Up to", exact=True).fill("120")
    expect(page.locator("#drill-wrong")).to_have_text("")
    page.get_by_role("button", name="Set up the ladder").click()
    rule = {"policy": "steps", "tempo": 84, "goal": 120, "step": 4, "clean_needed": 2}
    assert settings(fake, 1)[0] == {"first": 5, "last": 8, **rule, "free_time": False, "jam": False}

    fake.change(policy="steps", first=5, last=8, goal=120.0, foot_again="CC 65")
    expect(page.locator("#drill-words")).to_have_text(
        "Measures 5 to 8 of Reed Bank: 4 up after 2 clean passes in a row, to 120."
    )
    expect(page.locator("#drill-rungs")).to_have_text(re.compile(r"^8084, where you are8892120$"))
    expect(page.locator("#drill-rungs [aria-current=step]")).to_contain_text("84")
    fake.change(step=3.5)  # what is offered is whole
    expect(page.locator("#drill-rungs")).to_have_text(re.compile(r"^8184, where you are8891120$"))
    expect(page.locator("#drill-foot")).to_have_text("By foot: CC 64 starts and stops, CC 65 plays it again.")
    expect(page.locator("#drill")).to_be_hidden()
    expect(page.locator("#drill-end")).to_have_accessible_description("Tempo ladder")

    page.locator("#drill-end").click()
    back = settings(fake, 2)[1]
    assert back["whole"] is True
    assert (back["tune"], back["tempo"], back["goal"], back["policy"]) == ("reed-bank-0", 84, 160, "coach")
    fake.change(policy="coach", first=1, last=16, goal=160.0)
    page.get_by_role("heading", name="A tempo ladder").click()
    page.get_by_label("First measure").fill("")
    page.locator("#drill").get_by_role("combobox", name="Of").select_option(label=STUDY.title)
    expect(page.get_by_label("First measure")).to_be_hidden()
    page.get_by_label("Start at").press("Enter")
    study = settings(fake, 3)[2]
    assert (study["tune"], study["whole"], study["policy"], "first" in study) == (STUDY.id, True, "steps", False)

    fake.change(policy="steps", tune=STUDY.id)
    expect(page.locator("#drill-on")).to_be_visible()
    fake.change(policy="coach")  # another page has ended it
    expect(page.locator("#drill-on")).to_be_hidden()
    fake.change(policy="steps")
    page.locator("#drill-end").click()
    assert settings(fake, 4)[3] == {"policy": "coach"}


def test_what_there_was_before_a_tempo_ladder_is_kept_for_its_own_player(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    page.get_by_role("heading", name="A tempo ladder").click()
    page.get_by_role("button", name="Set up the ladder").click()
    fake.wait_for_kind("settings")
    fake.change(policy="steps")

    page.goto(f"{fake.url}?session=anna")  # whose service has fixed steps too
    page.locator("#drill-end").click()
    assert settings(fake, 2)[1] == {"policy": "coach"}
    page.goto(fake.url)
    page.locator("#drill-end").click()
    assert settings(fake, 3)[2]["goal"] == 160


def test_a_mixed_solo_shows_the_tier_of_each_measure_and_the_player_may_choose_otherwise(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.change(digest=mixed(fake, 2, 3, 5), mix=[2, 3, 5])

    expect(page.locator("#facts")).to_contain_text("intermediate, measures 2 to 3 and 5 advanced · G major")
    tiers = ["◆ int."] * 16
    for number in (2, 3, 5):
        tiers[number - 1] = "▲ adv."
    expect(page.locator("#strip .cell-tier")).to_have_text(tiers)
    brackets = page.locator("#sheet .bracket")
    expect(brackets).to_have_text(["▲ advanced", "▲ advanced"])
    (long_left, long_right), (short_left, short_right) = edges(page, "#sheet .bracket path")
    (left, _), (_, right) = edges(page, "#m2 .wash, #m3 .wash")
    assert 0.9 * (right - left) < long_right - long_left < right - left
    assert left < long_left < long_right < right
    assert short_right - short_left < 0.7 * (long_right - long_left)

    page.get_by_role("button", name="Measure 3, advanced: not played yet").click()
    page.get_by_role("button", name="Play measure 3 as intermediate").click()
    page.get_by_role("button", name="Measure 9, intermediate: not played yet").click()
    page.get_by_role("button", name="Play measure 9 as advanced").click()
    expect(page.locator("#mix-words")).to_have_text("Measures 2 to 3 and 5: advanced already.")
    page.get_by_role("button", name="All of it intermediate").click()
    assert settings(fake, 3) == [{"mix": [2, 5]}, {"mix": [2, 3, 5, 9]}, {"mix": []}]

    page.set_viewport_size({"width": 390, "height": 800})
    expect(page.locator("#sheet .bracket")).to_have_count(3)  # two measures to a system: 2, 3 and 5 are on three
    # The window has passed by more than one layout: what stands in the end is what counts.
    page.wait_for_function(
        "() => document.querySelector('#sheet .bracket text')?.getBoundingClientRect().height >= 11.5"
    )
    page.wait_for_function("() => document.documentElement.scrollWidth === 390")

    fake.change(digest=fake.arrangement["digest"], mix=[], tier="advanced")
    expect(page.locator("#sheet .bracket")).to_have_count(0)
    expect(page.locator("#mix")).to_be_hidden()
    expect(page.locator("#mix-take")).to_be_hidden()


def test_a_jam_run_the_sounds_the_studies_and_the_rule_of_the_tempo_are_chosen(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.send(protocol.Tunes([*fake.tunes, STUDY]))
    expect(page.locator("#chooser optgroup[label='Roll studies'] option")).to_have_text([STUDY.title])
    expect(page.locator("#chooser optgroup[label=Tunes] option")).to_have_count(2)
    page.locator("#chooser select[name=tune]").select_option(STUDY.id)
    page.get_by_label("As in a jam").check()
    page.get_by_label("The solo sounds along").check()
    page.get_by_label("Bass and chop sound along").uncheck()
    page.locator("#open-settings").click()
    expect(page.locator("#fixed-steps")).to_be_hidden()
    page.get_by_label("How the tempo moves").select_option("three clean")
    page.get_by_label("How the tempo moves").select_option("steps")
    fake.change(jam=True, policy="steps")
    page.get_by_label("Step", exact=True).fill("3")
    page.get_by_role("button", name="Done").click()
    assert settings(fake, 7) == [
        {"tune": STUDY.id, "jam": False},
        {"jam": True},
        {"with_solo": True},
        {"with_backing": False},
        {"policy": "three clean"},
        {"policy": "steps"},
        {"step": 3},
    ]

    expect(page.locator("#jam-words")).to_contain_text("Never stop")
    fake.begin(1, sounds=False)
    fake.change(state="between passes", jam=False)
    fake.send(report(clean=False, kept_going=True))
    expect(page.locator("#report-head")).to_have_text("Pass 1, as in a jam: you kept going")
    expect(page.locator("#to-report")).to_have_text("Pass 1, as in a jam: you kept going")
    expect(page.get_by_label("As in a jam")).to_be_enabled()
    fake.change(tune=STUDY.id, jam=True)
    expect(page.get_by_label("As in a jam")).to_be_enabled()  # else nobody could end it
    fake.change(jam=False)
    expect(page.get_by_label("As in a jam")).to_be_disabled()


def test_what_is_said_of_a_chosen_measure_is_of_the_solo_that_is_shown(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    choice = page.locator("#strip-choice")
    page.get_by_role("button", name="Measure 3: not played yet").click()
    expect(choice).to_contain_text("Measure 3: not played yet")

    fake.change(digest="", mix=[3], waiting="Writing the solo …")
    expect(choice).to_be_hidden()
    fake.change(digest=mixed(fake, 3), waiting="")
    expect(page.locator("#strip-words")).to_have_text("Measure 3, advanced: not played yet")
    expect(choice.get_by_role("button")).to_have_text(
        ["Practise measure 3 alone", "Play measure 3 as intermediate", "Explain measure 3", "Edit measure 3"]
    )

    fake.change(jam=True, mix=[])  # whose measures are counted on
    expect(choice.get_by_role("button")).to_have_text(
        ["Practise measure 3 alone", "Explain measure 3", "Edit measure 3"]
    )
    fake.change(jam=False, digest=fake.arrangement["digest"], tune="reed-bank-1")
    expect(page.locator("#strip .cell-tier")).to_have_count(0)
    expect(choice).to_be_hidden()


def test_while_a_solo_is_written_nothing_of_the_one_before_is_left(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()
    held: list[Route] = []

    def hold(route: Route) -> None:
        held.append(route)

    page.route("**/arrangements/mixed.json", hold)
    with page.expect_request("**/arrangements/mixed.json"):
        fake.change(digest=mixed(fake, 3))  # its sheet comes too late
    fake.change(digest="", title="", waiting="Writing the solo …")
    expect(page.locator("#sheet")).to_have_text("Writing the solo …")
    with page.expect_response("**/arrangements/mixed.json"):
        held[0].continue_()
    page.evaluate("fetch('arrangements/mixed.json?once-more').then((answer) => answer.json())")

    expect(page.locator("#sheet")).to_have_text("Writing the solo …")
    expect(page.locator("#title")).to_have_text("Practice")
    expect(page.locator("#strip li")).to_have_count(0)
    expect(page.locator("#papers a")).to_have_count(0)
    expect(page.locator("#facts")).to_have_text("")
