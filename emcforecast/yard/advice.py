"""What to do next with a stack: the planner is asked, and its answer put in order."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from emcforecast.ensemble.calendar import YEAR_DAYS
from emcforecast.forecast.plan.answer import last_stay
from emcforecast.forecast.plan.earliest import earliest
from emcforecast.forecast.plan.plan import LONGEST
from emcforecast.forecast.plan.result import Dates
from emcforecast.forecast.plan.solve import few_runs, solve
from emcforecast.forecast.plan.success import EVENS, SURE, takes_green
from emcforecast.forecast.targets import Target
from emcforecast.yard.actions import Action, Advice, BringIn, Reason
from emcforecast.yard.outlook import AFTER_NEED, Outlook
from emcforecast.yard.planned_steps import (
    REMIND_DAYS,
    from_solution,
    names_of,
    question,
    ready_here,
)

AIR_DRY = 20.0
NO_GAIN = 0.5
"""Within this of the driest ahead, waiting gains nothing, % MC."""
UNSURE = (0.15, 0.85)
"""Between these chances of being ready, only a reading can tell."""
SOON_DAYS = 7
"""A need date so near leaves nothing to plan."""


def advise(
    outlook: Outlook,
    target: Target | None,
    number: Mapping[str, int],
    have: Sequence[str],
) -> Advice:
    """Say what to do next with a stack.

    Parameters
    ----------
    outlook : Outlook
        With its readings counted.
    target : Target or None
        The moisture it is for.
    number : mapping of str to int
        Number of each of the yard's places in the air.
    have : sequence of str
        Places it may be moved to.

    Returns
    -------
    Advice
    """
    stack, today = outlook.stack, outlook.today
    rest = _no_gain(outlook)
    if stack.stacked > today:
        action = Action("stack", stack.stacked, Reason.NOT_STACKED_YET)
        return Advice((action,), no_gain_after=rest)
    if target is None:
        return Advice((_use_unknown(outlook),), no_gain_after=rest)
    ready_now = outlook.share_ready(target, outlook.now)
    if stack.need is None and ready_now >= SURE:
        action = Action("ready", today, Reason.READY_NOW, chance=ready_now)
        return Advice((action,), 1.0, no_gain_after=rest)
    found = _advise(outlook, target, number, have, ready_now)
    here = ready_here(outlook, target)
    ready = here if here.p50 is not None else found.ready
    # The dates where it stays are those of the yard's own runs, said once.
    actions = tuple(
        replace(action, day=here.p50, dates=here)
        if action.reason is Reason.READY_HERE and here.p50 is not None
        else action
        for action in found.actions
    )
    found = replace(found, actions=actions, no_gain_after=rest, ready=ready)
    if UNSURE[0] < ready_now < UNSURE[1]:
        core = Action("reading", today, Reason.MAY_BE_READY, chance=ready_now)
        found = replace(found, actions=(core, *found.actions))
    return found


def _advise(
    outlook: Outlook,
    target: Target,
    number: Mapping[str, int],
    have: Sequence[str],
    ready_now: float,
) -> Advice:
    stack, today = outlook.stack, outlook.today
    if any(move.date > today for move in stack.moves):
        return _as_planned(outlook, target)
    need = outlook.need
    if need is None:
        return _without_need(outlook, target, number, have)
    if need - outlook.now > LONGEST:
        days = outlook.whole.days - outlook.now
        wait = Action("wait", today, Reason.BEYOND_HORIZON, chance=days / YEAR_DAYS)
        return Advice((wait,))
    if need <= outlook.now + SOON_DAYS:
        if ready_now >= SURE:
            action = Action("ready", today, Reason.READY_NOW, chance=ready_now)
        else:
            action = Action("late", today, Reason.NEED_DATE_PAST, chance=ready_now)
        return Advice((action,), ready_now)
    found = solve(question(outlook, target, number, have, need))
    return from_solution(outlook, found, number, ready_now)


def _without_need(
    outlook: Outlook, target: Target, number: Mapping[str, int], have: Sequence[str]
) -> Advice:
    """Advise a stack that nobody waits for: the first day on which it can be ready."""
    today, now = outlook.today, outlook.now
    asked = question(outlook, target, number, have, now)
    sure, even = earliest(asked, few_runs(asked), even_too=False)
    first = sure or even
    stay = float(outlook.weight @ np.isfinite(outlook.first_ready(target)))
    names = names_of(number, outlook)
    if first is None:
        lowest = float(outlook.middle().min())
        return Advice((Action("late", today, Reason.NOWHERE, lowest_mc=lowest),), stay)
    route = first.route
    if not route.moves:
        # The same dates as those of the table: it stays where it is.
        dates = ready_here(outlook, target)
        day = dates.p50 or outlook.day(first.day)
        action = Action("ready", day, Reason.READY_HERE, dates=dates)
        return Advice((action,), stay)
    dates = last_stay(replace(asked, need=first.day), route, AFTER_NEED).dates(
        asked.begun
    )
    move = outlook.day(route.moves[-1])
    setting = names[route.places[-1]]
    bring_in = BringIn(setting, move, move if sure else None, move, route.chance, dates)
    closed = not takes_green(asked.air.places[route.places[-1]])
    steps = [
        Action(
            "bring-in" if closed else "move",
            move,
            Reason.LAST_MOVE,
            place=setting,
            by=bring_in.by,
            chance=route.chance,
            staying=stay,
            remind_days=REMIND_DAYS,
        ),
        Action("ready", outlook.day(first.day), Reason.READY_LATER, dates=dates),
    ]
    return Advice(tuple(steps), stay, bring_in)


def _as_planned(outlook: Outlook, target: Target) -> Advice:
    """Advise a stack whose next moves the yard file plans."""
    today, need = outlook.today, outlook.need
    steps = [
        Action(
            "move",
            move.date,
            Reason.PLANNED_MOVE,
            place=move.setting,
            remind_days=REMIND_DAYS,
        )
        for move in outlook.stack.moves
        if move.date > today
    ]
    dates = ready_here(outlook, target)
    beyond = need is not None and need > outlook.whole.days
    if need is None or beyond:
        chance = float(outlook.weight @ np.isfinite(outlook.first_ready(target)))
    else:
        chance = outlook.share_ready(target, need)
    if dates.p50 is None:
        lowest = float(outlook.middle().min())
        short = Reason.PLAN_FALLS_SHORT
        late = Action("late", today, short, chance=chance, lowest_mc=lowest)
        return Advice((steps[0], late, *steps[1:]), chance)
    ready = Action("ready", dates.p50, Reason.READY_LATER, chance=chance, dates=dates)
    if need is not None and not beyond and chance < EVENS:
        before = outlook.first_ready(target) <= need
        earlier = float(outlook.weight @ before) - chance
        ready = Action("late", today, Reason.NOT_BY_NEED, chance=chance, dates=dates)
        if earlier >= EVENS:
            only = Reason.READY_EARLIER_ONLY
            ready = Action("ready", dates.p50, only, chance=chance, dates=dates)
    return Advice((*steps, ready), chance)


def _no_gain(outlook: Outlook) -> date | None:
    middle = outlook.middle()
    near = middle <= middle.min() + NO_GAIN
    return None if near[0] else outlook.day(outlook.now + int(np.argmax(near)))


def _use_unknown(outlook: Outlook) -> Action:
    """Advise a stack whose use is not known."""
    today, w = outlook.today, outlook.whole
    day = outlook.date_of(w.range_of(w.first_below(AIR_DRY), [0.5])[0])
    when = today if day is None or day <= today else day
    return Action("describe", when, Reason.USE_UNKNOWN, dates=Dates(None, day, None))
