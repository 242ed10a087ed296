"""Solos that are given and not arranged here: an arrangement file, or a teacher's tablature. They are read, practised,
kept and replayed like any other, and what hands cannot do in them is said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from coach.arranging.accompaniment import accompaniment
from coach.arranging.arrange import arrange
from coach.arranging.arrangement import Arrangement
from coach.arranging.files import to_json
from coach.listening.heard import STRINGS_ON_OWN_CHANNELS, Decoder
from coach.listening.listener import Listener
from coach.listening.plan import PassPlan
from coach.service import jobs
from coach.service import protocol as wire
from coach.service.jobs import PAPERS, Solo, read_file, tiers_of, write_paper
from coach.sheets.musicxml import to_musicxml
from coach.takes.player import VirtualPlayer
from coach.takes.replay import replay, report_text
from coach.takes.sessions import read_session
from coach.tunes.tune import Tune

TEMPO = 120.0

# Eight eighths to a measure: strings, and frets over an open G; no fingers, no tune, no chords.
ROLLS = (((3, 0), (2, 0), (1, 0), (5, 0), (2, 0), (1, 0), (5, 0), (2, 0)), ((4, 2), (3, 0), (5, 0), (1, 2)) * 2)


def tab(rolls: tuple[tuple[tuple[int, int], ...], ...] = ROLLS, finger: str = "") -> bytes:
    """A tablature as a teacher may send it, with nothing but strings and frets."""
    start = (
        "<attributes><divisions>2</divisions><time><beats>4</beats><beat-type>4</beat-type></time>"
        "<clef><sign>TAB</sign></clef><staff-details><staff-lines>5</staff-lines></staff-details></attributes>"
    )
    measures = ""
    for number, roll in enumerate(rolls, 1):
        notes = "".join(
            f"<note><duration>1</duration><notations><technical><string>{string}</string><fret>{fret}</fret>{finger}"
            "</technical></notations></note>"
            for string, fret in roll
        )
        measures += f'<measure number="{number}">{start if number == 1 else ""}{notes}</measure>'
    return (
        "<score-partwise><work><work-title>Kitchen Roll</work-title></work><part-list>"
        f'<score-part id="P1"><part-name>Banjo</part-name></score-part></part-list><part id="P1">{measures}</part>'
        "</score-partwise>"
    ).encode()


def solo_of(data: bytes, name: str) -> Solo:
    (given,), _ = read_file(data, name)
    assert isinstance(given.source, Solo)
    return given.source


@pytest.mark.parametrize("name", ["roll.musicxml", "roll.xml", "roll", "roll.abc"])
def test_a_tablature_is_a_solo_whatever_its_name(name: str) -> None:
    (given,), complaints = read_file(tab(), name)

    assert (given.title, given.key, given.meter, given.measures) == ("Kitchen Roll", "C major", "4/4", 2)
    assert complaints == ()
    assert tiers_of(given.source) == ("advanced",)
    assert jobs.solo_of(given.source, "advanced") is given.source


def test_a_solo_is_not_listed_like_the_tune_that_it_was_made_of(tune: Tune) -> None:
    (given,), _ = read_file(to_musicxml(arrange(tune, "beginner")).encode(), "a.musicxml")

    assert given.title == f"{tune.title}, beginner solo"


def test_a_score_without_a_tablature_is_a_tune_as_before(tune: Tune) -> None:
    data = to_musicxml(arrange(tune, "beginner")).replace("<sign>TAB</sign>", "<sign>C</sign>").encode()

    assert isinstance(read_file(data, "a.musicxml")[0][0].source, Tune)


def test_what_hands_cannot_do_is_said_and_the_solo_is_taken(tune: Tune) -> None:
    (given,), complaints = read_file(tab(finger="<pluck>T</pluck>"), "thumb.musicxml")
    assert len(complaints) == 4
    assert complaints[0] == "Kitchen Roll: Measure 1: T does not play string 1, as on beat 2 and in one more place."
    assert len({tuple(sentence.split()[3:7]) for sentence in complaints}) == len(complaints)
    assert isinstance(given.source, Solo)

    whole = arrange(tune, "intermediate")
    first = whole.measures[0]
    wrong = replace(first, plucks=tuple(replace(pluck, finger="M") for pluck in first.plucks))
    written = to_json(replace(whole, measures=(wrong, *whole.measures[1:])))
    (_,), told = read_file(written, "mine.json")
    assert told
    assert all(sentence.startswith("Test Lane: Measure 1: ") for sentence in told[:-1])
    assert read_file(to_json(whole), "sound.json")[1] == ()


@pytest.mark.parametrize("paper", PAPERS)
def test_a_tablature_comes_on_every_paper(paper: Any) -> None:
    assert len(write_paper(solo_of(tab(), "roll.musicxml").arrangement, paper)) > 300


def test_with_no_chords_there_is_nothing_along_but_the_click() -> None:
    assert list(accompaniment(solo_of(tab(), "roll.musicxml").arrangement)) == []


def heard(solo: Arrangement, player: VirtualPlayer) -> Any:
    plan = PassPlan(solo, TEMPO, origin=10.0)
    listener, decoder = Listener(plan), Decoder(STRINGS_ON_OWN_CHANNELS)
    for index, played in enumerate(player.play(plan)):
        sound = decoder.feed(plan.origin + played.seconds, played.data, index)
        if sound is not None:
            listener.take(sound)
    listener.finish()
    return listener.result


def test_the_virtual_player_plays_it_and_is_heard() -> None:
    solo = solo_of(tab(), "roll.musicxml").arrangement
    good = heard(solo, VirtualPlayer(ability=400.0))
    poor = heard(solo, VirtualPlayer(ability=40.0))

    assert good.clean
    assert [score.melody_heard for score in good.measures] == [None, None]
    assert sum(note.verdict != "on time" for note in poor.notes) > 3


def test_it_is_practised_kept_and_replayed(world: Any, as_written: Any, tmp_path: Path) -> None:
    given = solo_of(tab(), "roll.musicxml")
    world.solos = {world.tune.id: {"advanced": given}}
    world.ready()
    page = world.page()
    page.say(wire.Settings(tempo=TEMPO))
    page.say(wire.Start())
    origin = float(page.last(wire.Begin).origin or page.now() + 0.2 + page.last(wire.Begin).lead)
    notes = as_written(given, TEMPO, 1, 2)
    world.play(page, notes[:-1], until=5.5, origin=origin)

    report = page.last(wire.PracticeReport)
    assert [(score["played"], score["missed"]) for score in report.measures] == [(8, 0), (7, 1)]
    assert page.last(wire.State).tier == "advanced"
    folder = tmp_path / "folder-1"
    read = read_session(folder)
    assert report_text(replay(read)) == (folder / "report.json").read_text("utf-8")
    assert (folder / f"arrangement-{given.digest}.json").read_bytes() == given.file
