"""What to do next with a stack, and by when, from its outlook."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from emcforecast.ensemble.percentiles import quantiles
from emcforecast.forecast.plan.success import (
    AIRY,
    EVENS,
    ROOM_LIMIT,
    SURE,
    is_fit,
    not_too_dry,
    rain_unknown,
)
from emcforecast.forecast.targets import Target
from emcforecast.yard.actions import Action, day_words, span_words
from emcforecast.yard.moves import (
    AIR_DRY,
    HOPELESS,
    MoveIn,
    Stop,
    best_move,
    date_of,
    kind_of,
    need_in,
    sooner_or_later,
    stop_on_the_way,
)
from emcforecast.yard.outlook import Outlook, first_ready

NO_GAIN = 0.5
"""Within this of the driest ahead, waiting gains nothing, % MC."""
WORTH_TRYING = 0.05
"""A move must better the chance by this much."""
UNSURE = (0.15, 0.85)
"""Between these chances of being ready, only a reading can tell."""


Dates = tuple[date | None, date | None, date | None]
NEVER: Dates = (None, None, None)


@dataclass(frozen=True)
class Advice:
    """What to do with a stack.

    Parameters
    ----------
    actions : tuple of Action
        The most pressing first.
    stay_chance : float or None
        Probability of being ready in time where it lies.
    move_in : MoveIn or None
        The move that makes it ready, where it needs one.
    no_gain_after : date or None
        From here on waiting where it lies gains nothing.
    ready : tuple of date or None
        When it is ready where it lies, P10, P50 and P90: in the target and even.
    """

    actions: tuple[Action, ...]
    stay_chance: float | None = None
    move_in: MoveIn | None = None
    no_gain_after: date | None = None
    ready: Dates = NEVER


def advise(outlook: Outlook, target: Target | None, have: Sequence[str]) -> Advice:
    """Say what to do next with a stack.

    Parameters
    ----------
    outlook : Outlook
        With its readings counted.
    target : Target or None
        The moisture it is for.
    have : sequence of str
        Settings it may be carried to.

    Returns
    -------
    Advice
        At least one action.
    """
    stack, today = outlook.stack, outlook.today
    rest = _no_gain(outlook)
    if stack.stacked > today:
        words = f"goes on stickers on {day_words(stack.stacked, today)}"
        return Advice((Action("stack", stack.stacked, words),), no_gain_after=rest)
    if target is None:
        return Advice((_air_dry(outlook),), no_gain_after=rest)
    share = _ready_now(outlook, target)
    if share >= SURE:
        words = f"ready for {target.label}; dead-stack it and wrap it"
        why = f"{_tenths(share)} it is now at {target.words} and even"
        return Advice((Action("ready", today, words, why),), 1.0, no_gain_after=rest)
    unsure = UNSURE[0] < share < UNSURE[1]
    stay, ready = _staying(outlook, target)
    planned = any(move.date > today for move in stack.moves)
    if stay >= SURE or planned:
        found = Advice(_wait(outlook, target, stay, ready), stay, None, rest)
    else:
        found = _elsewhere(outlook, target, have, stay, ready, rest)
    if unsure:
        telling = Action(
            "reading",
            today,
            "can't tell if it is ready: read the core, mid-thickness, on two boards",
            f"by the forecast it is ready {_tenths(share)}; a core reading settles it",
        )
        found = replace(found, actions=(telling, *found.actions))
    return found if found.ready[1] else replace(found, ready=ready)


def _tenths(share: float) -> str:
    """Say a probability in tenths."""
    count = round(10 * share)
    if 0 < count < 10:
        return f"{count} times in 10"
    return "nearly always" if count else "hardly ever"


def _no_gain(outlook: Outlook) -> date | None:
    middle = outlook.middle()
    near = middle <= middle.min() + NO_GAIN
    return None if near[0] else outlook.day(outlook.now + int(np.argmax(near)))


def _ready_now(outlook: Outlook, target: Target) -> float:
    w, n = outlook.whole, outlook.now
    return float(w.weight @ is_fit(w.mean[n], w.shell[n], w.core[n], target))


def _staying(outlook: Outlook, target: Target) -> tuple[float, Dates]:
    """Chance of being ready in time where it lies, and when."""
    w, n = outlook.whole, outlook.now
    first = first_ready(w, n, target)
    need = need_in(outlook)
    fits = (first <= need) & (w.mean[n + need] <= target.high + 1e-9)
    if outlook.stack.need is None:
        fits = np.isfinite(first)
    early, middle, late = (date_of(outlook, outlook.now + d) for d in w.range_of(first))
    return float(w.weight @ fits), (early, middle, late)


def _air_dry(outlook: Outlook) -> Action:
    """Advise a stack whose use is not known."""
    today, w = outlook.today, outlook.whole
    below = quantiles(w.first_below(AIR_DRY), w.weight, (0.5,))[0]
    day = date_of(outlook, below)
    ask = "say what it is for (use or target in the yard file)"
    if day is None:
        return Action("describe", today, f"stays above 20 % here; {ask}")
    if day <= today:
        return Action("describe", today, f"air-dry, below 20 %; {ask}")
    return Action("describe", day, f"below 20 % about {day_words(day, today)}; {ask}")


def _wait(
    outlook: Outlook, target: Target, stay: float, ready: Dates
) -> tuple[Action, ...]:
    """Advise a stack that gets there where it lies, or by a move already planned."""
    today, middle = outlook.today, ready[1]
    steps = [
        Action(
            "move",
            move.date,
            f"move to {_the(outlook, move.setting)} on {day_words(move.date, today)}, "
            f"as planned",
            remind_days=7,
        )
        for move in outlook.stack.moves
        if move.date > today
    ]
    if middle is None:
        why = f"ready in time {_tenths(stay)}"
        late = Action("late", today, f"does not get to {target.words} this way", why)
        return (*steps[:1], late, *steps[1:])
    span = _span(ready, today)
    words = f"let it be; ready for {target.label} about "
    words += f"{day_words(middle, today)}{span}"
    why = "read the core before you use it"
    if outlook.stack.need is not None and stay < SURE:
        words += f"; in time {_tenths(stay)}"
    steps.append(Action("ready", middle, words, why, 0))
    return tuple(steps)


def _span(ready: Sequence[date | None], today: date) -> str:
    early, late = ready[0], ready[-1]
    if early is None or late is None or early == late:
        return ""
    return f" ({span_words(max(early, today), max(late, today), today)})"


def _the(outlook: Outlook, setting: str) -> str:
    """Name a setting as its owner does, or in the words of its kind."""
    title = outlook.bank.settings[outlook.number[setting]].about.title
    return (
        f"the {title}" if setting in ("outdoor", "shed", "indoor") else f"the {setting}"
    )


def _elsewhere(
    outlook: Outlook,
    target: Target,
    have: Sequence[str],
    stay: float,
    ready: Dates,
    rest: date | None,
) -> Advice:
    """Advise a stack that must be carried to another place to get there."""
    here, need = outlook.stack.setting_on(outlook.today), outlook.stack.need
    if need is not None and (need - outlook.today).days > outlook.ahead:
        words = f"no move yet for {day_words(need, outlook.today)}: that lies beyond "
        words += f"the {outlook.ahead / 365:.0f} years looked at"
        wait = Action("wait", outlook.today, words, "ask again nearer to it")
        return Advice((wait,), stay, None, rest)
    places = [
        name
        for name in have
        if outlook.number[name] != outlook.number[here]
        # Nobody can say what rain would do there: it is not advised.
        and not rain_unknown(outlook.bank, outlook.number[name])
    ]
    if kind_of(outlook, here) not in AIRY:
        places = [name for name in places if kind_of(outlook, name) not in AIRY]
    places.sort(key=lambda name: kind_of(outlook, name) not in AIRY)
    # Wood for outdoors goes where it would get too dry only if nothing else will do.
    _, too_dry = not_too_dry(outlook.bank, target)
    places.sort(key=lambda name: outlook.number[name] in too_dry)
    found: MoveIn | None = None
    for name in places:
        best = stay if found is None else max(stay, found.chance)
        if best > EVENS and outlook.number[name] in too_dry:
            break
        move = best_move(outlook, name, target)
        if move is not None and (found is None or move.chance > found.chance + 0.02):
            found = move
        if found is not None and found.chance >= SURE:
            break
    if found is None or found.chance <= stay + WORTH_TRYING:
        if stay > EVENS:
            return Advice(_wait(outlook, target, stay, ready), stay, None, rest)
        late = _nowhere(outlook, target, places, stay, ready)
        return replace(late, no_gain_after=rest)
    steps = [_bring_in(outlook, found, target, stay)]
    stop = stop_on_the_way(outlook, places, found)
    steps += [_stop(outlook, stop)] if stop else []
    middle = found.ready[1]
    if middle is not None:
        words = f"ready for {target.label} about {day_words(middle, outlook.today)}"
        words += _span(found.ready, outlook.today)
        steps.append(Action("ready", middle, words, "read the core before you use it"))
    steps.sort(key=lambda step: step.day)
    return Advice(tuple(steps), stay, found, rest)


def _bring_in(outlook: Outlook, move: MoveIn, target: Target, stay: float) -> Action:
    today, carry = outlook.today, _carry(outlook, move.setting)
    kind = "bring-in" if carry.startswith("bring") else "move"
    why = f"here it gets there {_tenths(stay)}"
    need = outlook.stack.need
    if need is None:
        if move.day <= today + timedelta(days=1):
            return Action(kind, today, f"{carry} now", why)
        words = f"{carry} after {day_words(move.day, today)}, when air-dry"
        return Action(kind, move.day, words, why, 7)
    if move.by is None:
        words = (
            f"{carry} {_about(move.best, today)}; even so ready by "
            f"{day_words(need, today)} only {_tenths(move.chance)}"
        )
        return Action(kind, move.best, words, why, 7)
    words = f"{carry} by {day_words(move.by, today)}"
    why += f"; there {_tenths(move.chance)} by {day_words(need, today)}"
    if move.even is not None and move.even > move.by:
        why += f", an even chance if by {day_words(move.even, today)}"
    if move.damp_again > 0.5:
        why += f"; by then the air there brings it back above {target.high:g} %: "
        why += "use it, or wrap it, when it is ready"
    return Action(kind, move.by, words, why, 7)


def _carry(outlook: Outlook, setting: str) -> str:
    indoors = kind_of(outlook, setting) not in AIRY
    return f"{'bring into' if indoors else 'move to'} {_the(outlook, setting)}"


def _about(day: date, today: date) -> str:
    soon = day <= today + timedelta(days=1)
    return "now" if soon else f"about {day_words(day, today)}"


def _stop(outlook: Outlook, stop: Stop) -> Action:
    place, today = _the(outlook, stop.setting), outlook.today
    soon = stop.by <= today + timedelta(days=1)
    when = "now" if soon else f"before {day_words(stop.by, today)}"
    why = f"from there it comes in {stop.gain:.1f} % drier"
    return Action("move", stop.by, f"move to {place} {when}", why, 7)


def _nowhere(
    outlook: Outlook,
    target: Target,
    places: Sequence[str],
    stay: float,
    ready: Dates,
) -> Advice:
    """Advise a stack that gets there in none of the places at hand, or not in time."""
    today, need = outlook.today, outlook.stack.need
    if need is not None and need <= today + timedelta(days=7):
        words = f"not ready for {target.words}; the need date {need} has come"
        actions = (Action("late", today, words, "give it a later need date"),)
        return Advice(actions, stay)
    if need is not None and ready[1] is not None:
        words = f"too late for {day_words(need, today)}"
        words += f"; ready about {day_words(ready[1], today)}"
        return Advice((Action("late", today, words, f"in time {_tenths(stay)}"),), stay)
    why = f"here it gets to about {outlook.middle().min():.0f} %"
    here = outlook.stack.setting_on(today)
    place = _driest(outlook, [here, *places], target)
    later = NEVER if place is None else sooner_or_later(outlook, place, target)
    if place is None or later[1] is None:
        words = f"cannot reach {target.words} in the places you have"
        late = Action("late", today, words, f"{why}; it takes a drier room")
        return Advice((late,), stay)
    when = f"ready about {day_words(later[1], today)}{_span(later, today)}"
    when += f", not by {day_words(need, today)}" if need else ""
    if place == here:
        late = Action("late", today, f"let it lie; {when}", why)
        return Advice((late, Action("ready", later[1], when)), stay, ready=later)
    if outlook.middle()[0] > ROOM_LIMIT and kind_of(outlook, place) not in AIRY:
        words = f"let it dry here; {when}, in {_the(outlook, place)}"
        late = Action("late", today, words, why)
        return Advice((late, Action("ready", later[1], when)), stay)
    words = f"{_carry(outlook, place)} now; {when}"
    carry = Action("bring-in", today, words, why)
    return Advice((carry, Action("ready", later[1], when)), stay)


def _driest(outlook: Outlook, places: Sequence[str], target: Target) -> str | None:
    """Return the place with the driest air, where that is dry enough."""
    air = {name: outlook.driest(name) for name in places}
    place = min(air, key=lambda name: air[name], default=None)
    return place if place and air[place] <= target.high + HOPELESS else None
