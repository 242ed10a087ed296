"""Where the page's files lie, and their digest."""

from pathlib import Path

import pytest

import coach
from coach.service.page import page_digest, page_folder


@pytest.fixture(autouse=True)
def _fresh() -> None:
    page_folder.cache_clear()


def package(root: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = root / "coach"
    folder.mkdir()
    monkeypatch.setattr(coach, "__file__", str(folder / "__init__.py"))
    return folder


def test_in_a_wheel_the_page_lies_inside_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    inside = package(tmp_path, monkeypatch) / "web_client"
    inside.mkdir()
    (tmp_path / "web_client").mkdir()

    assert page_folder() == inside


def test_in_an_editable_install_it_lies_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package(tmp_path, monkeypatch)
    (tmp_path / "web_client").mkdir()

    assert page_folder() == tmp_path / "web_client"


def test_the_page_of_this_checkout_is_found() -> None:
    assert (page_folder() / "main.js").is_file()


def test_digest_changes_with_contents_and_with_names(tmp_path: Path) -> None:
    (tmp_path / "a.js").write_text("1")
    first = page_digest(tmp_path)
    (tmp_path / "a.js").write_text("2")
    second = page_digest(tmp_path)
    (tmp_path / "a.js").rename(tmp_path / "b.js")
    third = page_digest(tmp_path)

    assert len({first, second, third}) == 3
    assert page_digest(tmp_path) == third
