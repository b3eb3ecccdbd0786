"""The planner's answer for a stack, in the order in which it is to be done."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from emcforecast.ensemble.weights import representatives
from emcforecast.forecast.plan.answer import LastStay, last_stay
from emcforecast.forecast.plan.earliest import EarliestDay
from emcforecast.forecast.plan.question import Question, ask
from emcforecast.forecast.plan.result import Dates
from emcforecast.forecast.plan.solve import Solution
from emcforecast.forecast.plan.success import EVENS, SURE, rain_unknown, takes_green
from emcforecast.forecast.targets import Target
from emcforecast.yard.actions import NEVER, Action, Advice, BringIn, Reason
from emcforecast.yard.outlook import AFTER_NEED, Outlook

REMIND_DAYS = 7


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


def from_solution(
    outlook: Outlook, found: Solution, number: Mapping[str, int], ready_now: float
) -> Advice:
    """Put the planner's answer in the order in which it is to be done."""
    asked, best, today = found.asked, found.best, outlook.today
    stay = next((r.chance for r in found.routes if not r.moves), best.chance)
    last = last_stay(asked, best, AFTER_NEED)
    earlier = last.ready_earlier(asked.need)
    if not best.moves and best.chance >= EVENS:
        dates = ready_here(outlook, asked.target)
        actions = _stays(outlook, dates, stay, ready_now)
        return Advice(actions, stay, ready_earlier=earlier)
    names = names_of(number, outlook)
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


def ready_here(outlook: Outlook, target: Target) -> Dates:
    """When it is ready along its own route: early, likely, late."""
    first = outlook.first_ready(target)
    return Dates(*(outlook.date_of(day) for day in outlook.whole.range_of(first)))


def names_of(number: Mapping[str, int], outlook: Outlook) -> dict[int, str]:
    """Name every place as the yard does, the stack's own first."""
    here = outlook.stack.setting_on(outlook.today)
    names: dict[int, str] = {number[here]: here}
    for name, k in number.items():
        names.setdefault(k, name)
    return names
