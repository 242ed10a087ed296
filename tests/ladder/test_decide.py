"""Where a pass leaves the player, and what is offered next."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import Any

import pytest
from ladder_here import Player, course

from coach.ladder import sitting
from coach.ladder.decide import counts, is_believed
from coach.ladder.fading import Learned
from coach.ladder.known import ready_tempos
from coach.ladder.policies import MOST_DOWN, MOST_UP
from coach.ladder.rungs import Rung
from coach.ladder.standing import EARNED, MOST_PAST, PolicyName, Wishes, wished
from coach.ladder.worth import LOOPS

STEPS = Wishes(40.0, 120.0, "steps")
TWO = {2: "late", 5: "late"}  # of eight measures: not clean


def at_goal(won: int = EARNED, wishes: Wishes = STEPS, **more: Any) -> Player:
    """A player who was clean at the goal so many times."""
    player = Player(wishes=wishes, tempo=wishes.goal, **more)
    for _ in range(won):
        player.play(player.whole())
    return player


# ------------------------------------------------------------------------------------------ what moves, and what not


@pytest.mark.parametrize("faults", [{}, TWO])
@pytest.mark.parametrize("policy", ["coach", "three clean", "every pass", "steps"])
def test_a_pass_that_was_stopped_moves_nothing(policy: PolicyName, faults: dict[int, str]) -> None:
    player = Player(wishes=Wishes(40.0, 120.0, policy))
    before = player.standing
    rung = player.play(player.whole(), faults, whole=False)

    assert player.standing.policy == before.policy
    assert player.standing.won == 0
    assert rung.tempo == 60.0
    assert rung.why == "The pass was not played to its end: 60 again."


@pytest.mark.parametrize("faults", [{}, TWO])
def test_a_first_pass_on_an_instrument_that_is_not_calibrated_moves_nothing_but_is_heard(
    faults: dict[int, str],
) -> None:
    player = Player(wishes=Wishes(40.0, 120.0, "every pass"))
    player.standing = replace(player.standing, heard=False)
    rung = player.play(player.whole(), faults, calibrated=False)

    assert rung.tempo == 60.0
    assert rung.why == "The first pass lets the coach hear this instrument: 60 again."
    assert player.known.curves == {}
    assert player.standing.heard
    assert player.play(calibrated=False).tempo > 60.0


def test_a_pass_that_was_stopped_is_no_first_pass_on_an_instrument() -> None:
    player = Player()
    player.standing = replace(player.standing, heard=False)
    stopped = player.seen(player.whole(), whole=False, calibrated=False)

    assert not is_believed(player.standing, stopped)
    player.play(player.whole(), whole=False, calibrated=False)
    assert not player.standing.heard


@pytest.mark.parametrize(
    ("heard", "calibrated", "judged", "believed"),
    [
        (False, False, "heard", False),
        (False, True, "heard", True),
        (True, False, "heard", True),
        (False, False, "marked", True),
    ],
)
def test_what_is_believed_of_an_instrument(heard: bool, calibrated: bool, judged: Any, believed: bool) -> None:
    player = Player()
    player.standing = replace(player.standing, heard=heard)
    seen = player.seen(player.whole(), calibrated=calibrated, judged=judged)

    assert is_believed(player.standing, seen) == counts(player.standing, seen) == believed
    assert not counts(player.standing, replace(seen, whole=False))


def test_a_marked_pass_moves_the_ladder_but_the_instrument_is_still_to_be_heard() -> None:
    player = Player(wishes=Wishes(40.0, 120.0, "three clean"))
    player.standing = replace(player.standing, heard=False)
    rung = player.play(player.whole(), marked=True, calibrated=False)

    assert rung.tempo == 65.0  # 60 * MOST_UP, whole
    assert rung.why == "Clean: up to 65 (by your own mark)."
    assert not player.standing.heard


@pytest.mark.parametrize("kind", ["spot", "warm-up", "jam"])
@pytest.mark.parametrize("faults", [{}, TWO])
def test_a_spot_a_warm_up_and_a_jam_run_leave_the_tempo_of_the_whole(kind: Any, faults: dict[int, str]) -> None:
    player = Player(wishes=STEPS, tempo=80.0)
    player.play(player.whole())
    before = player.standing
    player.play(player.whole(50.0, kind=kind, first=2, last=6), faults)

    assert player.standing.policy == before.policy
    assert (player.standing.first, player.standing.last) == (None, None)
    assert player.standing.won == 0


def test_what_the_player_chose_is_where_the_ladder_goes_on() -> None:
    player = Player(wishes=Wishes(40.0, 120.0, "every pass"), tempo=80.0)
    player.play()

    assert player.play(player.whole(60.0)).tempo == round(60.0 * 1.08 ** (0.16 / 0.84))
    rung = player.play(player.whole(70.0, tier="advanced"))
    assert (rung.tier, player.standing.tier) == ("advanced", "advanced")
    assert rung.tempo > 70.0


def test_another_tier_is_begun_anew() -> None:
    player = at_goal()
    player.play(player.whole(120.0, tier="intermediate"))
    standing = player.standing

    assert (standing.tier, standing.won, standing.tries, standing.jammed) == ("intermediate", 1, 1, False)
    assert player.rung().kind == "whole"


def test_what_was_heard_in_a_pass_that_was_stopped_does_not_move_the_tempo() -> None:
    player = Player(tempo=70.0)
    tempo = player.play(player.whole(70.0)).tempo
    rung = player.play(player.whole(tempo), dict.fromkeys(range(1, 9), "late"), whole=False)

    assert (rung.kind, rung.tempo) == ("whole", tempo)


@pytest.mark.parametrize("tempo", [60.0, 90.0, 118.0])
def test_by_the_coach_the_tempo_is_no_slower_after_a_clean_pass_however_little_is_known(tempo: float) -> None:
    player = Player(tempo=tempo)

    assert player.play(player.whole(tempo)).tempo >= tempo


@pytest.mark.parametrize(("days", "slower"), [(1.0, False), (6.9, False), (7.1, True), (40.0, True)])
def test_after_a_week_away_it_begins_where_the_curves_say(days: float, slower: bool) -> None:
    player = Player(tempo=100.0)
    player.play(player.whole(100.0), dict.fromkeys(range(1, 9), "late"))
    for _ in range(3):
        player.play(player.whole(100.0))
    player.day += days
    player.sitting = sitting.begun(None)
    rung = player.rung()

    assert (rung.tempo < 100.0) == slower
    assert rung.why == f"The whole at {rung.tempo:.0f}, to begin with{f' after {days:.0f} days' * slower}."


@pytest.mark.parametrize(
    ("tempo", "offered"), [(119.6, 120.0), (119.4, 119.0), (121.4, 121.0), (140.0, 121.5), (40.4, 40.5), (41.2, 41.0)]
)
def test_tempos_are_whole_but_for_the_goal_and_the_floor(tempo: float, offered: float) -> None:
    player = Player(wishes=Wishes(40.5, 121.5, "steps"), tempo=tempo)
    rung = player.rung()

    assert rung.tempo == offered
    assert rung.why == f"The whole at {offered:.0f}, to begin with."


@pytest.mark.parametrize("policy", ["three clean", "every pass", "steps"])
def test_whole_tempos_do_not_stop_the_climb(policy: PolicyName) -> None:
    """Steps may be smaller than a quarter a minute; then the rule goes on from the tempo that it found."""
    player = Player(wishes=Wishes(20.0, 120.0, policy, step=0.4), tempo=20.0)
    tempos = [player.rung().tempo, *(player.play().tempo for _ in range(12))]

    assert tempos == sorted(tempos)
    assert tempos[-1] >= 22.0
    assert all(tempo == round(tempo) for tempo in tempos)


@pytest.mark.parametrize("policy", ["coach", "three clean", "every pass", "steps"])
def test_each_rule_takes_the_tempo_up_after_clean_passes_and_down_after_others(policy: PolicyName) -> None:
    player = Player(wishes=Wishes(40.0, 120.0, policy), tempo=60.0)
    rungs = [player.play(player.whole(player.rung().tempo)) for _ in range(4)]
    high = rungs[-1].tempo
    rungs += [player.play(player.whole(player.rung().tempo), dict.fromkeys(range(1, 9), "late")) for _ in range(4)]

    assert high > 60.0
    assert rungs[-1].tempo < high
    assert [rung.tempo for rung in rungs[:4]] == sorted(rung.tempo for rung in rungs[:4])


def test_rules_other_than_the_coachs_give_whole_passes() -> None:
    for policy in ("three clean", "every pass", "steps"):
        player = Player(wishes=Wishes(40.0, 120.0, policy), tempo=80.0)
        kinds = {player.play(faults={5: "late", 6: "late"}).kind for _ in range(6)}

        assert kinds == {"whole"}


# ------------------------------------------------------------------------------------------ trouble spots


def with_trouble() -> Player:
    """A player whom measure 3 holds back."""
    player = Player(tempo=80.0, course=course(4))
    for _ in range(4):
        player.play(player.whole(80.0), {3: "late"})
    return player


def test_a_trouble_spot_is_looped_with_a_lead_in_and_without_the_accompaniment() -> None:
    rung = with_trouble().rung()

    assert (rung.kind, rung.first, rung.last, rung.backing) == ("spot", 2, 3, False)
    assert rung.tempo < 80.0
    assert rung.why == f"Measure 3 was late in 4 of 4 passes: it alone, with a lead-in, at {rung.tempo:.0f}."


def test_a_spot_is_put_back_into_the_whole_after_a_few_loops() -> None:
    player = with_trouble()
    rungs = [player.rung()]
    rungs += [player.play(faults={3: "late"} if player.rung().kind == "whole" else {}) for _ in range(8)]
    at = next(number for number, rung in enumerate(rungs) if rung.kind == "whole")

    assert 0 < at <= 2 * LOOPS
    assert max(Counter((rung.first, rung.last) for rung in rungs[:at]).values()) <= LOOPS
    assert rungs[at].why.endswith(f"came clean: back into the whole at {rungs[at].tempo:.0f}.")


def test_where_most_measures_go_wrong_none_is_a_trouble_spot_and_the_tempo_falls_soon() -> None:
    player = Player(tempo=100.0)
    rungs = [player.play(player.whole(100.0), dict.fromkeys(range(1, 9), "late"))]
    while rungs[-1].tempo > 52.0:
        rungs.append(player.play(faults=dict.fromkeys(range(1, 9), "late")))

    assert {rung.kind for rung in rungs} == {"whole"}
    assert len(rungs) <= 4
    assert rungs[0].why == "Most of it was not clean: down to 80."
    assert player.play(faults=dict.fromkeys(range(1, 6), "late")).kind == "whole"


@pytest.mark.parametrize("hard", [1, 2, 4])
def test_a_spot_at_either_end_of_the_solo_is_put_back_too(hard: int) -> None:
    player = Player(tempo=80.0, course=course(4))
    for _ in range(4):
        player.play(player.whole(80.0), {hard: "late"})
    assert player.rung().kind == "spot"
    kinds = [player.play(faults={hard: "late"} if player.rung().kind == "whole" else {}).kind for _ in range(8)]

    assert "whole" in kinds[: 2 * LOOPS]


def test_the_next_loop_at_either_end_tells_of_the_last() -> None:
    player = Player(tempo=80.0, course=course(4))
    for _ in range(4):
        player.play(player.whole(80.0), {4: "late"})

    assert player.play().why.startswith("Measure 4 came clean: ")


def test_from_loop_to_loop_a_spot_moves_as_the_whole_does() -> None:
    player = with_trouble()
    rung = player.rung()
    clean = player.play()
    failed = player.play(faults={3: "late"})

    assert [each.first for each in (rung, clean, failed)] == [2, 2, 2]
    for before, after, least, most in ((rung, clean, 1.0, MOST_UP), (clean, failed, MOST_DOWN, 1.0)):
        assert least * before.tempo - 0.5 <= after.tempo <= most * before.tempo + 0.5
        assert after.tempo == before.tempo or not 0.98 < after.tempo / before.tempo < 1.02


def test_the_first_pass_of_a_sitting_is_no_spot() -> None:
    player = with_trouble()
    player.day += 1

    assert player.play(player.whole(70.0), {3: "late"}).kind == "spot"  # behind a whole pass
    player.sitting = sitting.begun(None)
    assert player.rung().kind == "whole"
    player.day += 1
    player.sitting = replace(player.sitting, began=player.day)  # a warm-up was played
    assert player.rung().why == f"The whole at {player.rung().tempo:.0f}, to begin with."


def test_a_spot_is_not_much_faster_than_what_was_played() -> None:
    player = Player(tempo=50.0, course=course(4))
    for _ in range(10):
        player.play(player.whole(50.0, kind="part", first=3, last=3), {3: "late"})
        player.play(player.whole(110.0, kind="part", first=2, last=2))
    for _ in range(8):
        player.play(player.whole(50.0), {3: "late"})
    slow = player.rung()
    fast = replace(player.standing, passes=tuple(replace(past, tempo=20.0) for past in player.standing.passes))
    player.standing = fast

    assert slow.kind == "spot"
    assert player.rung().tempo == max(40.0, min(slow.tempo, 20.0 * MOST_UP))


# ------------------------------------------------------------------------------------------ what follows at the goal


def test_three_clean_passes_at_the_goal_offer_a_jam_run_then_the_next_tier_by_measures() -> None:
    player = at_goal(EARNED - 1)
    assert player.rung().kind == "whole"

    jam = player.play(player.whole())
    assert (jam.kind, jam.tempo, jam.solo) == ("jam", 120.0, False)
    assert jam.why == "Clean at the goal tempo 3 times: now as in a jam, at 120, and never stop."

    mixed = player.play(jam)
    assert (mixed.kind, mixed.tier, mixed.mix, mixed.offers, mixed.solo) == (
        "whole",
        "beginner",
        (1,),
        "intermediate",
        True,
    )
    assert mixed.tempo == 60.0  # as many plucks a second: 120 * 1 / 2
    assert mixed.why == "You kept going: measure 1 as in the intermediate solo now, at 60."


def test_clean_passes_at_the_goal_need_not_be_in_a_row() -> None:
    player = at_goal(2)
    player.play(player.whole(), TWO)

    assert player.play(player.whole()).kind == "jam"


def test_parts_and_slower_passes_and_reaching_the_goal_earn_nothing() -> None:
    player = Player(wishes=STEPS, tempo=116.0)
    player.play(player.whole())
    player.play(player.whole())
    assert (player.rung().tempo, player.standing.won) == (120.0, 0)
    player.play(player.whole(first=2, last=5, kind="part"))
    assert player.standing.won == 0


@pytest.mark.parametrize("more", [{"whole": False}, {"kept_going": False}])
def test_a_jam_run_that_stopped_is_offered_again(more: dict[str, Any]) -> None:
    player = at_goal()
    rung = player.play(**more)

    assert rung.kind == "jam"
    assert rung.why == "The jam run stopped on the way: once more, at 120, and never stop."


def test_a_jam_run_need_not_be_clean_and_counts_where_nobody_listened() -> None:
    assert at_goal().play(faults=dict.fromkeys(range(1, 9), "late")).offers == "intermediate"
    assert at_goal().play(marked=True, is_clean=False).offers == "intermediate"


def test_a_study_is_not_for_a_jam() -> None:
    player = at_goal(course=replace(course(tiers=1), can_jam=False))

    assert player.rung().why == "Clean at the goal tempo 3 times: this solo is yours."


def test_a_jam_run_is_offered_once() -> None:
    player = at_goal()
    rung = player.play(player.whole(120.0))

    assert (rung.kind, rung.offers) == ("whole", "intermediate")
    assert rung.why == "Clean at the goal tempo 4 times: measure 1 as in the intermediate solo now, at 60."


def test_another_goal_is_to_be_earned_again() -> None:
    player = at_goal()
    higher = Player(wishes=replace(STEPS, goal=130.0))
    higher.standing = wished(player.standing, higher.wishes)
    assert higher.rung().kind == "whole"


def test_behind_the_last_tier_nothing_comes() -> None:
    player = at_goal(0)
    for _ in range(EARNED):
        player.play(player.whole(tier="advanced"))
    rung = player.play()  # the jam run

    assert (rung.kind, rung.tier, rung.offers, rung.tempo) == ("whole", "advanced", "", 120.0)
    assert rung.why == "You kept going: this solo is yours."
    assert player.play().why == "Clean at the goal tempo 4 times: this solo is yours."
    assert player.play(faults=TWO).why == "Measures 2 and 5 were late: 120 again, and down after another like it."
    assert player.play(faults=TWO).why == "Measures 2 and 5 were late: down to 116."
    player.day += 1
    player.sitting = sitting.begun(None)
    assert player.rung().why == "Clean at the goal tempo 4 times: this solo is yours."


# ------------------------------------------------------------------------------------------ mixed solos


def mixing(repeats: dict[int, int] | None = None, wishes: Wishes = STEPS) -> Player:
    """A player at the first mixed solo."""
    player = at_goal(wishes=wishes, course=course(4, repeats))
    player.play()
    return player


def test_the_next_measures_come_in_whenever_the_mixed_solo_is_clean_at_its_tempo() -> None:
    player = mixing({3: 1})
    mixes, rungs = [player.rung().mix], []
    while player.rung().tier == "beginner":
        rungs.append(player.play())
        mixes.append(rungs[-1].mix)

    assert mixes == [(1, 3), (1, 2, 3), ()]
    assert [rung.tempo for rung in rungs] == [60.0] * 2
    assert rungs[0].why == "Clean: measure 2 as in the intermediate solo too, at 60."
    assert rungs[0].offers == ""
    assert rungs[1].why == "Clean: the intermediate solo itself now, at 60."
    assert (rungs[1].tier, rungs[1].offers) == ("intermediate", "intermediate")

    up = [player.play() for _ in range(2)][-1]
    assert (up.tier, up.tempo) == ("intermediate", 64.0)


def test_the_measures_that_came_in_must_come_clean_themselves() -> None:
    player = mixing()
    player.course = course(8)
    rung = player.play(faults={1: "late"}, is_clean=True)

    assert rung.mix == (1,)
    assert rung.why == "Clean but for measure 1: 60 again, and down after another like it."
    assert player.play(faults={1: "late"}, is_clean=True).why == "Clean but for measure 1: down to 56."
    assert player.play(faults={2: "late"}, is_clean=True).mix == (1, 2)


def test_a_mixed_solo_that_is_not_clean_stays_as_it_is_and_gets_slower() -> None:
    player = mixing()
    rungs = [player.play(faults={2: "late", 1: "late"}) for _ in range(2)]

    assert [rung.mix for rung in rungs] == [(1,), (1,)]
    assert [rung.tempo for rung in rungs] == [60.0, 56.0]


def mixed_of_eight() -> Player:
    """A player whose mixed solo of eight measures is clean although the one that came in is not."""
    player = at_goal(wishes=Wishes(40.0, 120.0))
    player.play()
    for _ in range(5):
        player.play(player.whole(60.0, mix=(1,)), {1: "late"})
    return player


def test_by_the_coach_new_measures_are_no_faster_than_they_are_ready() -> None:
    player = mixed_of_eight()
    new = ready_tempos(player.known, player.course, "intermediate", (), player.day)[1].tempo

    assert player.here.own()[1].passes == 5
    assert player.here.free_tempo() == pytest.approx(max(40.0, new))
    assert new < 60.0


def test_in_a_mixed_solo_nothing_is_faster_than_the_solo_itself() -> None:
    player = mixed_of_eight()
    rungs = [player.play(faults={1: "late", 2: "late"}) for _ in range(12)]

    assert {rung.kind for rung in rungs} == {"whole", "spot"}
    assert max(rung.tempo for rung in rungs) <= 60.0


def test_where_measures_differ_between_tiers_nothing_is_mixed() -> None:
    player = at_goal()
    short = replace(player.course.tiers[1], measures=player.course.tiers[1].measures[:-1])
    player.course = replace(player.course, tiers=(player.course.tiers[0], short))

    assert player.play().why == "You kept going: this solo is yours."


def test_a_tune_of_one_measure_goes_to_the_next_tier_at_once() -> None:
    player = at_goal(course=course(1))
    rung = player.play()

    assert (rung.tier, rung.mix, rung.offers) == ("intermediate", (), "intermediate")
    assert rung.why == "You kept going: the intermediate solo now, at 60."


# ------------------------------------------------------------------------------------------ parts


def test_measures_that_the_player_chose_stay_until_they_are_clean_at_the_goal() -> None:
    player = Player(wishes=STEPS, tempo=112.0)
    part = player.whole(kind="part", first=3, last=5)
    rungs = [player.play(part)] + [player.play() for _ in range(3)]

    assert {(rung.kind, rung.first, rung.last) for rung in rungs} == {("part", 3, 5)}
    assert [rung.tempo for rung in rungs] == [112.0, 116.0, 116.0, 120.0]
    whole = player.play()
    assert (whole.kind, whole.first, whole.last, whole.tempo) == ("whole", None, None, 120.0)
    assert whole.why == "Clean at the goal tempo: the whole solo at 120 now."


def test_a_part_is_a_part_however_it_is_called() -> None:
    player = Player(wishes=STEPS)
    rung = player.play(player.whole(kind="whole", first=3, last=5))

    assert (rung.kind, rung.first, rung.last) == ("part", 3, 5)
    assert player.play(player.whole(kind="part")).kind == "whole"


def test_by_the_coach_the_tempo_of_a_part_is_that_of_its_measures() -> None:
    hard = Player(tempo=80.0)
    easy = Player(tempo=80.0)
    for player, first in ((hard, 6), (easy, 1)):
        for _ in range(5):
            player.play(player.whole(80.0), {6: "late"})
        player.play(player.whole(80.0, kind="part", first=first, last=first))

    assert hard.rung().tempo <= easy.rung().tempo
    assert easy.rung().tempo > 80.0


# ------------------------------------------------------------------------------------------ sittings


def sit(player: Player, minutes: float, **last: Any) -> list[Rung]:
    """All that is played in a sitting, ten minutes longer than planned."""
    player.sitting = sitting.begun(minutes, **last)
    rungs = []
    while player.sitting.elapsed < minutes + 1:
        rungs.append(player.rung())
        player.play(rungs[-1])
    return rungs


KNOWN = Learned("u", "advanced", 100.0, 900.0, 30.0)


def test_a_sitting_goes_from_a_warm_up_to_something_known() -> None:
    rungs = sit(Player(wishes=Wishes(40.0, 120.0), tempo=90.0, learned=[KNOWN]), 10.0)
    kinds = [rung.kind for rung in rungs]
    began, ended = kinds.index("whole"), kinds.index("known")

    assert set(kinds[:began]) == {"warm-up"}
    assert "known" not in kinds[began:ended]
    assert "warm-up" not in kinds[began:]
    assert kinds[-1] in ("whole", "spot")  # the minutes are over
    assert rungs[0].tune == ""
    assert (rungs[ended].tune, rungs[ended].tier, rungs[ended].tempo) == ("u", "advanced", 100.0)


def test_the_warm_up_is_slow_and_says_so() -> None:
    player = Player(tempo=90.0)
    for _ in range(6):
        player.play(player.whole(90.0))
    player.sitting = sitting.begun(20.0)
    rung = player.rung()

    assert 40.0 <= rung.tempo < 90.0
    assert rung.why == f"To warm up: slowly, at {rung.tempo:.0f}."
    assert not rung.solo


def test_what_fades_first_comes_back_and_the_tune_at_hand_does_not() -> None:
    own = Learned("t", "beginner", 120.0, 900.0, 1.0)
    fading = Learned("v", "beginner", 90.0, 970.0, 31.0)
    later = Learned("w", "beginner", 80.0, 990.0, 60.0)
    player = Player(learned=[later, own, fading])
    player.sitting = replace(sitting.begun(20.0), elapsed=18.0)

    assert player.rung().tune == "v"
    assert player.rung().why == "To end with: something that is about to fade, at 90."
    player.learned = [later]
    assert player.rung().why == "To end with: something that you can do, at 80."
    player.learned = [own]
    assert player.rung().kind == "whole"


def test_in_a_longer_sitting_no_tempo_is_above_that_of_the_last() -> None:
    rungs = sit(Player(tempo=84.0, learned=[KNOWN]), 12.0, last_minutes=10.0, last_tempo=85.0)
    limited = [rung for rung in rungs if "more minutes" in rung.why]

    assert max(rung.tempo for rung in rungs) == 85.0
    assert limited
    assert limited[0].why == "Clean: 85, for today there are more minutes, so the tempo stays."


def test_in_a_sitting_that_is_no_longer_the_tempo_goes_up() -> None:
    rungs = sit(Player(tempo=84.0), 10.0, last_minutes=10.0, last_tempo=85.0)

    assert max(rung.tempo for rung in rungs[:8]) > 85.0


# ------------------------------------------------------------------------------------------ what sounds along


def test_the_solo_sounds_along_where_it_is_new_and_not_from_then_on() -> None:
    player = Player(tempo=60.0)

    assert player.rung().solo
    assert not player.play(player.whole()).solo


def test_a_study_does_not_sound_along_however_new_and_hard_it_is() -> None:
    player = Player(wishes=Wishes(40.0, 300.0, "steps"), tempo=300.0, course=replace(course(tiers=1), by_ear=False))

    assert not player.rung().solo
    assert not player.play(player.whole(300.0), dict.fromkeys(range(1, 9), "late")).solo


def test_the_solo_sounds_along_where_a_measure_fails_more_often_than_not() -> None:
    player = Player(wishes=STEPS, tempo=50.0)
    solos = [player.play(player.whole(50.0), {4: "late", 5: "late"}).solo for _ in range(6)]

    assert not solos[0]
    assert solos[-1]


# ------------------------------------------------------------------------------------------ how long it keeps


def test_a_tune_that_is_clean_at_its_goal_keeps_for_some_days() -> None:
    player = Player(wishes=Wishes(40.0, 80.0), tempo=80.0)
    player.play(player.whole(), dict.fromkeys(range(1, 9), "late"))
    assert player.standing.keeps == 0.0
    for _ in range(12):
        player.play(player.whole(80.0))
    learned = Learned.of(player.standing)

    assert learned is not None
    assert (learned.tune, learned.tier, learned.goal, learned.day) == ("t", "beginner", 80.0, player.day)
    assert learned.keeps > 1.0
    player.play(player.whole(80.0, mix=(1,)))
    assert Learned.of(player.standing) is None


def test_a_measure_that_came_clean_in_all_passes_that_are_remembered_is_no_trouble_spot() -> None:
    player = Player(tempo=80.0, course=course(4))
    for _ in range(6):
        player.play(player.whole(80.0), {3: "late"})
    for _ in range(MOST_PAST):
        assert player.rung().kind == "spot"
        player.play(player.whole(60.0))

    assert player.rung().kind == "whole"
