"""The other ways through a measure as a page gets them."""

import json

from coach.arranging.arrange import Work
from coach.arranging.files import to_json
from coach.arranging.otherways import other_ways
from coach.arranging.way_files import ways_to_json
from coach.tunes.demo import demo_tune


def test_ways_are_told_as_they_are_with_measures_as_an_arrangement_has_them():
    work = Work(demo_tune("mill-lane"))
    solo, ways = work.solo("advanced"), other_ways(work, "advanced", 3)
    told = json.loads(ways_to_json(solo.measures[2], ways))

    assert (told["format"], told["measure"]) == ("ways/1", 3)
    assert told["standing"] == json.loads(to_json(solo))["measures"][2]
    assert [(way["number"], way["extra"], way["sentence"]) for way in told["ways"]] == [
        (way.number, way.extra, way.sentence) for way in ways
    ]
    places = [[(pluck["string"], pluck["fret"]) for pluck in way["measure"]["plucks"]] for way in told["ways"]]
    assert places == [[(pluck.string, pluck.fret) for pluck in way.measure.plucks] for way in ways]
    assert len(places) == 8


def test_a_measure_with_no_other_way_has_an_empty_list():
    solo = Work(demo_tune("mill-lane")).solo("beginner")

    assert json.loads(ways_to_json(solo.measures[4], ()))["ways"] == []
