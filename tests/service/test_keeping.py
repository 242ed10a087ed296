"""What cannot be kept is said, and the session goes on."""

from pathlib import Path
from typing import Any

from coach.service import protocol as wire


def test_a_pass_that_cannot_be_kept_is_not_begun_and_the_next_one_is(
    world: Any, solos: Any, as_written: Any, tmp_path: Path
) -> None:
    world.ready()
    page = world.page()
    in_the_way = tmp_path / "folder-1"
    in_the_way.write_text("a file where the folder is to be", "utf-8")

    page.say(wire.Settings(tempo=120.0))
    page.say(wire.Start())
    world.run(0.5)

    assert page.last(wire.State).state == "ready"
    assert page.last(wire.Failure).text.startswith(f"{tmp_path}: the pass cannot be kept (File exists)")

    in_the_way.unlink()
    page.say(wire.Start())
    origin = page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead
    world.play(page, as_written(solos["beginner"], 120.0), until=9.0, origin=origin)
    assert page.last(wire.PracticeReport).clean
