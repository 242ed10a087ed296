"""The page as a whole: it comes up clean, says what is to be said, and fits the window."""

from __future__ import annotations

import gzip
import json
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

import pytest
from playwright.sync_api import Page, expect

from coach.service import protocol
from coach.service.jobs import PAPERS

ROOT = Path(__file__).parents[2]
PHONE = {"width": 360, "height": 740}

PAGES = sorted(path.name for path in (ROOT / "web_client").glob("*.html"))


def kinds(union: Any) -> list[str]:
    """The kinds of a union of messages."""
    return sorted(message.__struct_config__.tag for message in get_args(union))


def listed(name: str) -> list[str]:
    """A list of kinds as the page has it."""
    text = (ROOT / "web_client" / "messages.js").read_text(encoding="utf-8")
    match = re.search(rf"export const {name} = Object\.freeze\(\[(.*?)\]\)", text, re.DOTALL)
    assert match is not None
    return sorted(re.findall(r'"(\w+)"', match[1]))


def test_the_page_and_the_service_list_the_same_kinds_of_message() -> None:
    assert listed("FROM_PAGE") == kinds(protocol.FromPage)
    assert listed("FROM_SERVICE") == kinds(protocol.FromService)


def test_the_page_speaks_the_subprotocol_and_keeps_the_limit_of_the_service() -> None:
    text = (ROOT / "web_client" / "messages.js").read_text(encoding="utf-8")

    assert f'SUBPROTOCOL = "{protocol.SUBPROTOCOL}"' in text
    assert f"MOST_NOTES_IN_A_MESSAGE = {protocol.MOST_NOTES_IN_A_MESSAGE};" in text


def test_the_pure_modules_of_the_page_pass_their_own_tests() -> None:
    assert shutil.which("node") is not None, "node is not installed: apt-get install -y nodejs"
    folder = ROOT / "tests" / "page_js"
    # All in one process, since the modules are pure: a process for each file takes six times as long.
    imports = "".join(f"import {json.dumps(path.as_uri())};" for path in sorted(folder.glob("*.test.mjs")))

    run = subprocess.run(["node", "--input-type=module", "-e", imports], capture_output=True, text=True, check=False)

    assert run.returncode == 0, run.stdout[-4000:]
    assert "# pass 0" not in run.stdout


def test_the_types_of_the_page_are_right() -> None:
    assert shutil.which("tsc") is not None, "tsc is not installed: apt-get install -y node-typescript"

    run = subprocess.run(["tsc", "-p", ROOT / "tests" / "page_js"], capture_output=True, text=True, check=False)

    assert run.stdout + run.stderr == ""
    assert run.returncode == 0


@pytest.mark.parametrize("page", PAGES)
def test_every_id_that_a_module_asks_for_is_in_its_page(page: str) -> None:
    markup = (ROOT / "web_client" / page).read_text(encoding="utf-8")
    asked = {
        name
        for module in modules_of(main_of(page), how=r"from|import\(?")
        for name in re.findall(r'byId\("([\w-]+)"\)', (ROOT / "web_client" / module).read_text(encoding="utf-8"))
    }

    assert asked
    assert [name for name in sorted(asked) if f'id="{name}"' not in markup] == []


def imported(name: str, how: str) -> set[str]:
    """The modules that one of the page names behind these words, comments aside."""
    text = re.sub(r"/\*.*?\*/", "", (ROOT / "web_client" / name).read_text(encoding="utf-8"), flags=re.DOTALL)
    return set(re.findall(rf'(?:{how})\s*"\./([\w-]+\.js)"', text))


def modules_of(*names: str, how: str = "from|import") -> set[str]:
    """Modules of the page and all that is fetched with them."""
    found, waiting = set(), list(names)
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += imported(one, how)
    return found


def weight(names: set[str]) -> int:
    """Bytes on the wire."""
    return sum(len(gzip.compress((ROOT / "web_client" / name).read_bytes(), 6)) for name in names)


def main_of(page: str) -> str:
    """The module with which a page begins."""
    (main,) = re.findall(r'<script type="module" src="([\w-]+\.js)">', (ROOT / "web_client" / page).read_text("utf-8"))
    return str(main)


@pytest.mark.parametrize("page", PAGES)
def test_a_page_with_its_styles_and_scripts_weighs_less_than_150_kilobytes_on_the_wire(page: str) -> None:
    markup = (ROOT / "web_client" / page).read_text(encoding="utf-8")
    files = {page, "icon.svg", *re.findall(r'href="([\w-]+\.css)"', markup), *modules_of(main_of(page))}

    assert len(files) > 5
    assert weight(files) < 150_000


def test_what_is_fetched_only_when_it_is_opened_is_small_too() -> None:
    first = modules_of("main.js")
    doors = {name for one in first for name in imported(one, r"import\(")}
    for door in doors:
        assert 4_000 < weight(modules_of(door) - first) < 40_000

    assert doors == {"edit.js", "enter.js", "studio.js"}


def test_a_page_fetches_all_its_modules_at_once() -> None:
    markup = (ROOT / "web_client" / "index.html").read_text(encoding="utf-8")

    assert set(re.findall(r'rel="modulepreload" href="([\w-]+\.js)"', markup)) == modules_of("main.js") - {"main.js"}


def test_everything_on_the_page_comes_from_its_own_host() -> None:
    served = [path for path in (ROOT / "web_client").iterdir() if path.suffix in {".html", ".css", ".js", ".svg"}]
    strangers = {
        (path.name, url)
        for path in served
        for url in re.findall(r"(?:https?:)?//[\w.-]+\.\w+[\w./-]*", path.read_text(encoding="utf-8"))
        if url != "http://www.w3.org/2000/svg"
    }

    assert len(served) > 10
    assert strangers == set()


def test_a_first_visit_shows_cautions_tune_and_tempo_and_waits(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page()

    expect(page.locator("#cautions")).to_have_text(re.compile(r"Pain means stop\. Keep the sound moderate\."))
    expect(page.locator("#title")).to_have_text("Reed Bank")
    expect(page.locator("#facts")).to_have_text("intermediate · G major · open G tuning · 4/4")
    expect(page.locator("#tempo-now")).to_have_text("84")
    expect(page.locator("#tempo-halves")).to_have_text("42 halves")
    expect(page.locator("#notice")).to_be_hidden()
    expect(page.locator("#strip button")).to_have_count(16)
    expect(page.get_by_role("button", name="Start Space")).to_be_enabled()
    expect(page.get_by_role("button", name="Next rung Enter")).to_be_disabled()


def test_the_solo_can_be_taken_along_in_every_form_that_the_service_writes(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()

    links = page.locator("#papers a")
    expect(links).to_have_count(5)
    given = [(link.get_attribute("href"), link.get_attribute("download")) for link in links.all()]
    digest, name = fake.arrangement["digest"], f"{fake.arrangement['tune']}-intermediate"
    kinds = [href.rpartition(".")[2] for href, _ in given]
    assert given == [(f"arrangements/{digest}.{kind}", f"{name}.{kind}") for kind in kinds]
    assert set(kinds) - {"json"} == {paper for paper in PAPERS if "." not in paper}


def test_cautions_are_gone_during_the_first_pass_and_do_not_come_back(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()

    fake.begin(1)
    expect(page.locator("#cautions")).to_be_hidden()
    fake.change(state="between passes")

    expect(page.locator("#toggle .label")).to_have_text("Start")
    expect(page.locator("#cautions")).to_be_hidden()


def test_the_policy_of_the_page_is_not_broken_by_anything_it_does(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(
        script="window.broken = []; document.addEventListener('securitypolicyviolation',"
        " (event) => window.broken.push(event.violatedDirective + ' ' + event.sourceFile))"
    )
    page.locator("#toggle").click()
    fake.begin(1)
    fake.wait_for_kind("sounding")
    page.locator("#open-pad").click()
    page.locator("#open-settings").click()
    expect(page.locator("#settings")).to_be_visible()

    assert page.evaluate("window.broken") == []
    assert page.evaluate("getComputedStyle(document.querySelector('.tab path')).stroke") != "none"


def test_a_page_that_broke_the_policy_would_be_noticed(open_page: Callable[..., Page], complaints: list[str]) -> None:
    page = open_page()

    with page.expect_console_message(lambda message: "Content Security Policy" in message.text):
        page.evaluate("document.body.append(Object.assign(document.createElement('script'), {textContent: '0'}))")

    assert len(complaints) == 1
    complaints.clear()


def test_the_page_fits_a_phone_before_during_and_after_a_pass(open_page: Callable[..., Page], fake: Any) -> None:
    page = open_page(viewport=PHONE, has_touch=True, is_mobile=True)
    widths = "[document.documentElement.scrollWidth, innerWidth]"
    page.locator("#open-pad").tap()
    assert page.evaluate(widths) == [360, 360]

    fake.begin(1)
    page.locator("#m1.sounding").wait_for()
    assert page.evaluate(widths) == [360, 360]

    rung = protocol.Rung("intermediate", 90.7, 1, 16, "It was clean, so the tempo goes up 8 %.")
    fake.change(state="between passes", rung=rung)
    page.locator("#choice summary").tap()
    expect(page.locator("#rung")).to_be_visible()
    assert page.evaluate(widths) == [360, 360]
    fetched = (
        "performance.getEntriesByType('resource').map((one) => one.name).find((name) => name.includes('/sheets/'))"
    )
    assert "layout=narrow" in page.evaluate(fetched)


def test_a_window_made_narrow_gets_the_narrow_sheet_with_the_same_marks(
    open_page: Callable[..., Page], fake: Any
) -> None:
    page = open_page()
    fake.begin(1)
    fake.send(protocol.VerdictMark(1, 2, "m2e3", "missed", None, None, None))
    page.locator("[data-note=m2e3]").wait_for()
    systems = page.locator("#sheet .system").count()

    page.set_viewport_size({"width": 600, "height": 800})

    expect(page.locator("#sheet .system")).to_have_count(2 * systems)
    expect(page.locator("[data-note=m2e3][data-verdict=missed]")).to_have_count(1)
