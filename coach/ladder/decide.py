"""What to play next: where a pass leaves the player, and the rung that is offered.

What moves nothing
    A pass that was stopped, and the first whole pass on an instrument that is not calibrated: nobody knows yet how much
    of the player's lag is the instrument's. A trouble spot, a warm-up and a jam run do not move the tempo of the whole.
What is offered
    After :data:`EARNED` clean passes through the whole solo at the goal tempo a jam run, once; then the next tier as a
    mixed solo (:mod:`~coach.ladder.mixing`), the next measures whenever it comes clean at its tempo. Else the tempo
    moves by the policy that the player chose. Where that is the coach's own, trouble spots come between whole passes
    (:mod:`~coach.ladder.worth`), but not where most of the measures went wrong. Measures that the player chose stay
    until they are clean at the goal. In a sitting that was planned a warm-up comes first, and something known last
    (:mod:`~coach.ladder.sitting`).
Tempos
    Whole, between floor and goal, and none is above the limit of the sitting, unless the floor is. None whatever is
    above the cap that a teacher has set. After a week away
    the curves alone, which have forgotten, say where to begin again, where the policy is the coach's own. The first
    mixed solo asks for as many plucks a second as the solo before, as far as the tier behind goes. No mixed solo is
    faster than the one before it or, by the coach's own policy, than its new measures are ready.
What sounds along
    The solo, to be learned by ear: where a tier or measures of it are new, and where a measure is expected to come
    clean in less than half of the passes; never in a study, a jam run or something known. The accompaniment: always
    but in trouble spots, where the player listens to the hands.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from coach.ladder.fading import Learned, coming_back, is_fading, keeps
from coach.ladder.here import Here
from coach.ladder.known import Known, curves, places, ready_tempos
from coach.ladder.mixing import following, more_mixed
from coach.ladder.policies import MOST_UP, ByCurve, stepped
from coach.ladder.reasons import why, why_spot
from coach.ladder.rungs import Course, PassSeen, Rung, TierPlan
from coach.ladder.sitting import most_tempo, phase
from coach.ladder.spots import ready_whole
from coach.ladder.standing import EARNED, MOST_PAST, Past, Standing
from coach.ladder.wording import by_mark, held, measures, said, sentence
from coach.ladder.worth import best_practice

__all__ = ["after_pass", "counts", "is_believed", "next_rung"]

WARM_UP_TEMPO = 0.75  # of the ready tempo of the whole


# ------------------------------------------------------------------------------------------ after a pass


def counts(standing: Standing, seen: PassSeen) -> bool:
    """Whether a pass can move the ladder, and whether what was heard in it is to be believed."""
    return seen.whole and is_believed(standing, seen)


def is_believed(standing: Standing, seen: PassSeen) -> bool:
    """Whether what was seen of a pass, be it stopped, tells of the player and not of an instrument that is new."""
    return seen.judged == "marked" or seen.calibrated or standing.heard


def after_pass(standing: Standing, course: Course, known: Known, seen: PassSeen) -> Standing:
    """Where the player stands after a pass.

    Args:
        standing: before it; of the tune that was played.
        course: of this tune.
        known: what is known of the player with what the pass has taught.
        seen: the pass, which the player may have chosen against what was offered.
    """
    if seen.kind in ("whole", "part"):
        seen = replace(seen, kind="whole" if seen.all_measures else "part")
    counting = counts(standing, seen)
    if seen.kind in ("whole", "part", "known"):
        standing = _as_played(standing, seen)
        standing = replace(standing, tries=standing.tries + 1)
        if counting:
            standing = _moved(standing, seen)
    elif seen.kind == "jam" and seen.whole and seen.kept_going is not False:
        standing = replace(standing, jammed=True)
    past = Past.of(seen, counts=counting)
    return replace(
        standing,
        heard=standing.heard or (seen.whole and seen.judged == "heard"),
        passes=(*standing.passes, past)[-MOST_PAST:],
        day=seen.day,
        keeps=0.0 if standing.mix else keeps(curves(known, course, standing.tier, (), seen.day), standing.wishes.goal),
    )


def _as_played(standing: Standing, seen: PassSeen) -> Standing:
    """The standing on what was played."""
    if seen.tier != standing.tier:
        standing = replace(standing, tier=seen.tier, mix=(), new=(), won=0, tries=0, jammed=False)
    if seen.mix != standing.mix:
        new = tuple(number for number in seen.mix if number not in standing.mix)
        standing = replace(standing, mix=seen.mix, new=new, won=0, tries=0)
    policy = standing.policy.at(seen.tempo)
    return replace(standing, policy=policy, first=seen.first, last=seen.last)


def _moved(standing: Standing, seen: PassSeen) -> Standing:
    """The standing after a pass that counts."""
    clean = seen.is_clean
    if standing.mix:
        # A pass may be clean in spite of a measure or two that were not; what came in last must not be one of them.
        clean = clean and all(seen.clean.get(number, True) for number in standing.new)
        if clean and seen.all_measures:
            return replace(standing, won=standing.won + 1)  # more measures come in, so the tempo stays
    jammed = standing.jammed or (_has_earned(standing) and seen.all_measures)  # a jam run is offered once
    at_goal = clean and seen.all_measures and not standing.mix and seen.tempo >= standing.wishes.goal
    won = standing.won + at_goal
    return replace(standing, won=won, jammed=jammed, policy=standing.policy.after(clean=clean))


def _has_earned(standing: Standing) -> bool:
    return not standing.mix and standing.won >= EARNED


# ------------------------------------------------------------------------------------------ the next rung


def next_rung(here: Here, learned: Iterable[Learned] = ()) -> Rung:
    """What to play next.

    Args:
        here: where the player is.
        learned: tunes that the player can do.
    """
    standing = here.standing
    now = phase(here.sitting)
    if now == "warm-up":
        return _warm_up(here)
    others = coming_back(each for each in learned if each.tune != standing.tune)
    if now == "known" and others:
        return _known(here, others[0])
    if standing.is_part:
        return _part(here)
    if standing.mix and standing.won:
        return _more(here)
    if _has_earned(standing):
        return _earned(here)
    return _practice(here)


def _warm_up(here: Here) -> Rung:
    wanted = WARM_UP_TEMPO * ready_whole(here.own())
    tempo = here.within(wanted)
    text = f"to warm up: slowly, at {said(tempo)}{held(here.is_held(wanted))}"
    return Rung("warm-up", "", here.standing.tier, tempo, sentence(text))


def _known(here: Here, tune: Learned) -> Rung:
    limit = most_tempo(here.sitting)
    tempo = min(here.cap, tune.goal if limit is None else min(limit, tune.goal))
    what = "that is about to fade" if is_fading(tune, here.day) else "that you can do"
    text = f"to end with: something {what}, at {said(tempo)}{held(here.is_held(tune.goal))}"
    return Rung("known", tune.tune, tune.tier, tempo, sentence(text))


def _part(here: Here) -> Rung:
    standing, last = here.standing, here.last
    if last is not None and last.kind == "part" and last.counts and last.is_clean and last.tempo >= here.goal:
        whole = replace(here, standing=replace(standing, first=None, last=None))
        tempo = whole.tempo()
        text = by_mark(f"clean at the goal tempo: the whole solo at {said(tempo)} now", last)
        return whole.rung("whole", tempo, sentence(f"{text}{held(whole.is_held(whole.free_tempo()))}"))
    tempo = here.tempo()
    return here.rung("part", tempo, why(here, tempo), first=standing.first, last=standing.last)


def _more(here: Here) -> Rung:
    """The next measures come in, or all are in."""
    behind = following(here.course, here.standing.tier)
    if behind is None:
        return _practice(here)  # the solos were written anew, and there is nothing to be mixed in any more
    return _mixed(here, behind, "it was clean" if here.last is None else by_mark("clean", here.last))


def _earned(here: Here) -> Rung:
    standing, last = here.standing, here.last
    earned = f"clean at the goal tempo {standing.won} times"
    if here.course.can_jam and not standing.jammed:
        broke_off = last is not None and last.kind == "jam"
        text = "the jam run stopped on the way: once more" if broke_off else f"{earned}: now as in a jam"
        tempo = here.within(here.goal)
        text = f"{text}, at {said(tempo)}, and never stop{held(here.is_held(here.goal))}"
        return replace(here.rung("jam", tempo, sentence(text)), solo=False)
    if last is not None:
        earned = "you kept going" if last.kind == "jam" else by_mark(earned, last)
    behind = following(here.course, standing.tier)
    if behind is not None:
        return _mixed(here, behind, earned)
    if last is not None and last.kind != "jam" and not (last.is_clean and last.tempo >= here.goal):
        return _practice(here)
    free = here.free_tempo()
    text = f"{earned}: this solo is yours{held(here.is_held(free))}"
    return here.rung("whole", here.within(free), sentence(text))


def _mixed(here: Here, behind: TierPlan, earned: str) -> Rung:
    """The solo with more measures of the tier behind it."""
    standing = here.standing
    ready = ready_tempos(here.known, here.course, behind.name, (), here.day)
    mix, new = more_mixed(here.course, standing.tier, standing.mix, ready)
    if len(mix) == len(behind.measures):
        now = replace(standing, tier=behind.name, mix=(), new=())
        what = f"the {behind.name} solo{' itself' * bool(standing.mix)} now"
    else:
        now = replace(standing, mix=mix, new=new)
        what = f"{measures(new)} as in the {behind.name} solo {'too' if standing.mix else 'now'}"
    there = replace(here, standing=now)
    tempo = standing.tempo
    if not standing.mix:
        load = next(each.load for each in here.course.tiers if each.name == standing.tier)
        tempo *= min(1.0, load / behind.load)
    if isinstance(standing.policy, ByCurve):
        tempo = min(tempo, there.by_curves(mix))
    text = f"{earned}: {what}, at {said(here.within(tempo))}{held(here.is_held(tempo))}"
    offers = "" if standing.mix and now.mix else behind.name
    return replace(there.rung("whole", here.within(tempo), sentence(text)), solo=True, offers=offers)


def _practice(here: Here) -> Rung:
    """The whole, or a trouble spot."""
    standing, own, tempo = here.standing, here.own(), here.tempo()
    if isinstance(standing.policy, ByCurve) and standing.passes and not (here.is_again or here.is_lost):
        plans = places(here.course, standing.tier, standing.mix)
        goal = standing.tempo if standing.mix else here.goal
        best = best_practice(
            own,
            {number: plan.quarters for number, (_, plan) in plans.items()},
            tempo=tempo,
            floor=standing.wishes.floor,
            goal=goal,
            repeats=here.course.repeats,
            lately=[here.span(past) if past.kind == "spot" else None for past in here.recent],
        )
        spot = best.spot
        # A measure that always came clean is nobody's trouble spot, whatever its curve may still fear.
        if spot is not None and any(
            spot.first <= each <= spot.last for past in standing.passes for each, _ in past.faults
        ):
            most = MOST_UP * max(past.tempo for past in standing.passes)
            at, last = min(most, best.tempo), here.last
            if last is not None and last.kind == "spot" and here.span(last) == (spot.lead_in, spot.last):
                at = stepped(last.tempo, at, clean=last.is_clean, floor=standing.wishes.floor, goal=goal)
            text = why_spot(here, range(spot.first, spot.last + 1), spot.lead_in, at)
            rung = here.rung("spot", here.within(at), text, first=spot.lead_in, last=spot.last)
            return replace(rung, backing=False)
    return here.rung("whole", tempo, why(here, tempo))
