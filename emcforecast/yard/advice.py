"""What to do next with a stack: the planner is asked, and its answer put in order."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from emcforecast.ensemble.calendar import YEAR_DAYS
from emcforecast.ensemble.weights import representatives
from emcforecast.forecast.plan.answer import LastStay, last_stay
from emcforecast.forecast.plan.earliest import EarliestDay, earliest
from emcforecast.forecast.plan.plan import LONGEST
from emcforecast.forecast.plan.question import Question, ask
from emcforecast.forecast.plan.result import Dates
from emcforecast.forecast.plan.solve import Solution, few_runs, solve
from emcforecast.forecast.plan.success import EVENS, SURE, rain_unknown, takes_green
from emcforecast.forecast.targets import Target
from emcforecast.yard.actions import NEVER, Action, Reason
from emcforecast.yard.outlook import AFTER_NEED, Outlook

AIR_DRY = 20.0
NO_GAIN = 0.5
"""Within this of the driest ahead, waiting gains nothing, % MC."""
UNSURE = (0.15, 0.85)
"""Between these chances of being ready, only a reading can tell."""
SOON_DAYS = 7
"""A need date so near leaves nothing to plan."""
REMIND_DAYS = 7


@dataclass(frozen=True)
class BringIn:
    """The last move of a stack's route, as `plan` gives it.

    Parameters
    ----------
    setting : str
        Where to, as the yard names it.
    day : date
        When, by the route that is advised.
    by, even_by : date or None
        Last day with 90 % certainty and with an even chance.
    chance : float
        Of being ready on the need date, by the route.
    ready : Dates
        When it is ready, moving on `by`, or else on `day`.
    """

    setting: str
    day: date
    by: date | None
    even_by: date | None
    chance: float
    ready: Dates


@dataclass(frozen=True)
class Advice:
    """What to do with a stack.

    Parameters
    ----------
    actions : tuple of Action
        The most pressing first; at least one.
    stay_chance : float or None
        Probability of being ready on the need date where it is; at any time where no
        date is set.
    bring_in : BringIn or None
        The move that makes it ready, where it needs one.
    no_gain_after : date or None
        From here on waiting where it is gains nothing.
    ready : Dates
        When it is ready where it is: at or below the target and even.
    ready_earlier : float
        Share of the runs of the best route that are ready before the need date only.
    """

    actions: tuple[Action, ...]
    stay_chance: float | None = None
    bring_in: BringIn | None = None
    no_gain_after: date | None = None
    ready: Dates = NEVER
    ready_earlier: float = 0.0


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
    here = _ready_here(outlook, target)
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
    return _from_solution(outlook, found, number, ready_now)


def question(
    outlook: Outlook,
    target: Target,
    number: Mapping[str, int],
    have: Sequence[str],
    need: int,
) -> Question:
    """Ask the planner of a stack of the yard what `plan` would ask of it.

    Parameters
    ----------
    outlook : Outlook
    target : Target
    number : mapping of str to int
        Number of each of the yard's places in the air.
    have : sequence of str
        Places it may be moved to.
    need : int
        Days from stacking.
    """
    base = outlook.base
    here = number[outlook.stack.setting_on(outlook.today)]
    air = base.ensemble.air
    # What rain would do there is not known: it is not advised.
    places = [number[name] for name in have if not rain_unknown(air, number[name])]
    index = representatives(base.weight) if base.informed else None
    return ask({here: base}, list(dict.fromkeys(places)), need, target, index)


def _from_solution(
    outlook: Outlook, found: Solution, number: Mapping[str, int], ready_now: float
) -> Advice:
    """Put the planner's answer in the order in which it is to be done."""
    asked, best, today = found.asked, found.best, outlook.today
    stay = next((r.chance for r in found.routes if not r.moves), best.chance)
    last = last_stay(asked, best, AFTER_NEED)
    earlier = last.ready_earlier(asked.need)
    if not best.moves and best.chance >= EVENS:
        dates = _ready_here(outlook, asked.target)
        actions = _stays(outlook, dates, stay, ready_now)
        return Advice(actions, stay, ready_earlier=earlier)
    names = _names(number, outlook)
    bring_in = None
    steps: list[Action] = []
    if best.moves:
        bring_in = _bring_in(outlook, found, names, last)
        steps = _moves(outlook, found, names, bring_in, stay)
    if best.chance >= EVENS:
        return Advice(tuple(steps), stay, bring_in, ready_earlier=earlier)
    if earlier >= EVENS:
        first = Action(
            "ready",
            last.dates(asked.begun).p50 or today,
            Reason.READY_EARLIER_ONLY,
            place=names.get(best.places[-1], ""),
            chance=best.chance,
            dates=last.dates(asked.begun),
        )
        return Advice((first, *steps), stay, bring_in, ready_earlier=earlier)
    sure, even = found.earliest(even_too=False)
    soonest = sure or even
    dates = NEVER
    if soonest is not None:
        later = replace(asked, need=soonest.day)
        dates = last_stay(later, soonest.route, AFTER_NEED).dates(asked.begun)
    late = _late(outlook, soonest, names, best.chance, dates)
    here = soonest is not None and not soonest.route.moves
    return Advice(
        (late, *steps), stay, bring_in, None, dates if here else NEVER, earlier
    )


def _stays(
    outlook: Outlook, dates: Dates, stay: float, ready_now: float
) -> tuple[Action, ...]:
    """Advise a stack that is ready when needed where it is."""
    today = outlook.today
    if ready_now >= SURE:
        return (Action("ready", today, Reason.READY_NOW, chance=ready_now),)
    day = dates.p50 or today
    return (Action("ready", day, Reason.READY_HERE, chance=stay, dates=dates),)


def _bring_in(
    outlook: Outlook, found: Solution, names: Mapping[int, str], last: LastStay
) -> BringIn:
    """Return the last move of the best route, whose last stay is given."""
    asked, best = found.asked, found.best
    by, even = found.latest(SURE), found.latest(EVENS)
    if by not in {None, best.moves[-1]}:
        latest = best.moved_on(*best.moves[:-1], by)
        last = last_stay(asked, latest, AFTER_NEED)
    return BringIn(
        names[best.places[-1]],
        outlook.day(best.moves[-1]),
        None if by is None else outlook.day(by),
        None if even is None else outlook.day(even),
        best.chance,
        last.dates(asked.begun),
    )


def _moves(
    outlook: Outlook,
    found: Solution,
    names: Mapping[int, str],
    bring_in: BringIn,
    stay: float,
) -> list[Action]:
    """Every move of the best route, then the day the wood is ready."""
    best = found.best
    steps = [
        Action(
            "move",
            outlook.day(day),
            Reason.MOVE_ON_THE_WAY,
            place=names[place],
            remind_days=REMIND_DAYS,
        )
        for place, day in zip(best.places[1:-1], best.moves[:-1], strict=True)
    ]
    closed = not takes_green(found.asked.air.places[best.places[-1]])
    steps.append(
        Action(
            "bring-in" if closed else "move",
            bring_in.by or bring_in.day,
            Reason.LAST_MOVE,
            place=bring_in.setting,
            by=bring_in.by,
            even_by=bring_in.even_by,
            chance=bring_in.chance,
            staying=stay,
            remind_days=REMIND_DAYS,
        )
    )
    middle = bring_in.ready.p50
    if best.chance >= EVENS and middle is not None:
        steps.append(Action("ready", middle, Reason.READY_LATER, dates=bring_in.ready))
    return steps


def _late(
    outlook: Outlook,
    first: EarliestDay | None,
    names: Mapping[int, str],
    chance: float,
    dates: Dates,
) -> Action:
    """Advise a stack that cannot be ready by the need date."""
    today = outlook.today
    lowest = float(outlook.middle().min())
    if first is None:
        return Action("late", today, Reason.NOWHERE, chance=chance, lowest_mc=lowest)
    place = names[first.route.places[-1]] if first.route.moves else ""
    return Action(
        "late",
        today,
        Reason.NOT_BY_NEED,
        place=place,
        by=outlook.day(first.route.moves[-1]) if first.route.moves else None,
        chance=chance,
        dates=dates,
        lowest_mc=lowest,
    )


def _without_need(
    outlook: Outlook, target: Target, number: Mapping[str, int], have: Sequence[str]
) -> Advice:
    """Advise a stack that nobody waits for: the first day on which it can be ready."""
    today, now = outlook.today, outlook.now
    asked = question(outlook, target, number, have, now)
    sure, even = earliest(asked, few_runs(asked), even_too=False)
    first = sure or even
    stay = float(outlook.weight @ np.isfinite(outlook.first_ready(target)))
    names = _names(number, outlook)
    if first is None:
        lowest = float(outlook.middle().min())
        return Advice((Action("late", today, Reason.NOWHERE, lowest_mc=lowest),), stay)
    route = first.route
    if not route.moves:
        # The same dates as those of the table: it stays where it is.
        dates = _ready_here(outlook, target)
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
    dates = _ready_here(outlook, target)
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


def _ready_here(outlook: Outlook, target: Target) -> Dates:
    """When it is ready along its own route: early, likely, late."""
    first = outlook.first_ready(target)
    return Dates(*(outlook.date_of(day) for day in outlook.whole.range_of(first)))


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


def _names(number: Mapping[str, int], outlook: Outlook) -> dict[int, str]:
    """Name every place as the yard does, the stack's own first."""
    here = outlook.stack.setting_on(outlook.today)
    names: dict[int, str] = {number[here]: here}
    for name, k in number.items():
        names.setdefault(k, name)
    return names
