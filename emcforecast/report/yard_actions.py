"""The words of what there is to do with a stack of the yard, and why."""

from collections.abc import Sequence
from datetime import date, timedelta

from emcforecast.dates import MONTHS, spoken, spoken_span
from emcforecast.ensemble.update import Update
from emcforecast.forecast.plan.result import Dates
from emcforecast.forecast.plan.success import takes_green
from emcforecast.report.doubts import doubt_words
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import risk_reason
from emcforecast.report.updates import moved_words, position_words
from emcforecast.report.words import in_hundred
from emcforecast.storage.kinds import SETTINGS as DEFAULT_PLACES
from emcforecast.yard.actions import Action, Reason
from emcforecast.yard.doubt import DoubtKind
from emcforecast.yard.model import Yard
from emcforecast.yard.result import StackState


def action_words(action: Action, one: StackState, yard: Yard, today: date) -> str:
    """Say what to do, without the stack's name.

    Parameters
    ----------
    action : Action
        Of the stack.
    one : StackState
        The stack.
    yard : Yard
        Its yard, which names the places.
    today : date
        A date of this year is said without its year.
    """
    words = _WORDS[action.reason](action, one, yard, today)
    return words.replace("  ", " ")


def action_why(action: Action, one: StackState, today: date) -> str:
    """Say why, in a sentence, or "".

    Parameters as for `action_words`.
    """
    why = _WHY.get(action.reason)
    return "" if why is None else why(action, one, today)


def next_words(action: Action, one: StackState, yard: Yard, today: date) -> str:
    """Say what to do with its day, where the words do not hold one."""
    words = action_words(action, one, yard, today)
    if action.unhurried or any(month in words for month in MONTHS):
        return words
    if action.day > today:
        return f"{spoken(action.day, today)}: {words}"
    timed = action.kind in ("ready", "late") or " now" in words or "this week" in words
    return words if timed else f"now: {words}"


def effect_words(one: StackState) -> str:
    """Say what the readings of a stack did to its forecast, or ""."""
    effect = one.effect
    update: Update | None = effect.update
    if update is None or effect.today_before is None or effect.today_after is None:
        return ""
    before, after = f"{effect.today_before:.1f}", f"{effect.today_after:.1f}"
    otherwise = (
        "the forecast stays"
        if before == after
        else f"the forecast of today moved from {before} to {after} %"
    )
    return f"{position_words(update)}{moved_words(effect.moved_days, otherwise)}"


def place_words(name: str, yard: Yard) -> str:
    """Name a place as its owner does, or in the words of its kind."""
    if name in DEFAULT_PLACES:
        return f"the {yard.settings[name].about.title}"
    return f"the {name}"


def _chance(share: float | None) -> str:
    return in_hundred(share or 0.0)


def _move(action: Action, yard: Yard) -> str:
    indoors = not takes_green(yard.settings[action.place])
    verb = "bring into" if indoors else "move to"
    return f"{verb} {place_words(action.place, yard)}"


def _span(dates: Dates, today: date) -> str:
    early, late = dates.p10, dates.p90
    if early is None or late is None or early == late or late <= today:
        return ""
    return f" ({spoken_span(max(early, today), max(late, today), today)})"


def _not_stacked(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return f"goes on stickers on {spoken(action.day, today)}"


def _ready_now(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return f"ready for {_label(one)}; dead-stack it and wrap it"


def _may_be_ready(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return "read the core, mid-thickness, on two boards: it may be ready"


def _use_unknown(action: Action, one: StackState, yard: Yard, today: date) -> str:
    ask = "say what it is for (use or target in the yard file)"
    day = action.dates.p50
    if day is None:
        return f"stays above 20 % here; {ask}"
    if day <= today:
        return f"air-dry, below 20 %; {ask}"
    return f"below 20 % about {spoken(day, today)}; {ask}"


def _planned(action: Action, one: StackState, yard: Yard, today: date) -> str:
    day = spoken(action.day, today)
    return f"move to {place_words(action.place, yard)} on {day}, as planned"


def _beyond(action: Action, one: StackState, yard: Yard, today: date) -> str:
    need = one.stack.need or today
    return (
        f"no move yet for {spoken(need, today)}: that is beyond the "
        f"{action.chance or 0.0:.0f} years looked at"
    )


def _last_move(action: Action, one: StackState, yard: Yard, today: date) -> str:
    move, need = _move(action, yard), one.stack.need
    soon = action.day <= today + timedelta(days=1)
    if need is None:
        return f"{move} now" if soon else f"{move} by {spoken(action.day, today)}"
    if action.by is not None:
        return f"{move} by {spoken(action.by, today)}"
    when = "now" if soon else f"about {spoken(action.day, today)}"
    return (
        f"{move} {when}; even so only {_chance(action.chance)} are ready on "
        f"{spoken(need, today)}"
    )


def _on_the_way(action: Action, one: StackState, yard: Yard, today: date) -> str:
    soon = action.day <= today + timedelta(days=1)
    when = "now" if soon else f"about {spoken(action.day, today)}"
    return f"move to {place_words(action.place, yard)} {when}"


def _ready_later(action: Action, one: StackState, yard: Yard, today: date) -> str:
    day = action.dates.p50 or action.day
    return (
        f"ready for {_label(one)} about {spoken(day, today)}"
        f"{_span(action.dates, today)}"
    )


def _ready_here(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return f"let it be; {_ready_later(action, one, yard, today)}"


def _ready_earlier(action: Action, one: StackState, yard: Yard, today: date) -> str:
    need = one.stack.need or today
    where = f" in {place_words(action.place, yard)}" if action.place else ""
    return (
        f"ready for {_label(one)}{where} about {spoken(action.day, today)}, then "
        f"takes moisture up again before {spoken(need, today)}; use it or wrap it "
        "tight when it is ready"
    )


def _need_past(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return f"not ready for {_target(one)}; the need date {one.stack.need} has come"


def _not_by_need(action: Action, one: StackState, yard: Yard, today: date) -> str:
    need = one.stack.need or today
    words = f"not ready by {spoken(need, today)}"
    if action.dates.p50 is None:
        return words
    words += f"; ready about {spoken(action.dates.p50, today)}"
    if action.place and action.by is not None:
        words += f", moved to {place_words(action.place, yard)} by "
        words += spoken(action.by, today)
    return words


def _plan_falls_short(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return f"not ready for {_target(one)} by the moves that are planned"


def _nowhere(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return f"cannot reach {_target(one)} in the places you have"


def _risk(action: Action, one: StackState, yard: Yard, today: date) -> str:
    risk = action.risk
    return (
        "" if risk is None else f"{risk.risk}, {risk.level} risk: {risk_advice(risk)}"
    )


def _disagreement(action: Action, one: StackState, yard: Yard, today: date) -> str:
    how = {
        "weigh": f"weigh sample board {', '.join(action.boards)}",
        "boards": "read two more boards",
        "oven": "dry a piece in an oven",
        "pins": "read two more boards, pins at a quarter of the thickness",
    }[action.how]
    return (
        f"{how} this week; forecast and last reading disagree by "
        f"{action.difference_mc or 0.0:.1f}"
    )


def _not_used(action: Action, one: StackState, yard: Yard, today: date) -> str:
    last = action.reading
    if last is None:
        return ""
    on = spoken(last.reading.day, today)
    unused = f"the reading of {on} ({last.reading.shown}) is not used"
    if last.reading.day > today:
        return f"log it again with its right date: {unused}"
    if last.doubts[0].kind in (
        DoubtKind.NO_OVEN_DRY_WEIGHT,
        DoubtKind.BELOW_OVEN_DRY_WEIGHT,
    ):
        return f"complete the sample board in the yard file: {unused}"
    return f"read again: {unused}"


def _label(one: StackState) -> str:
    return "" if one.target is None else one.target.label


def _target(one: StackState) -> str:
    return "" if one.target is None else one.target.words


_WORDS = {
    Reason.NOT_STACKED_YET: _not_stacked,
    Reason.READY_NOW: _ready_now,
    Reason.MAY_BE_READY: _may_be_ready,
    Reason.USE_UNKNOWN: _use_unknown,
    Reason.PLANNED_MOVE: _planned,
    Reason.BEYOND_HORIZON: _beyond,
    Reason.LAST_MOVE: _last_move,
    Reason.MOVE_ON_THE_WAY: _on_the_way,
    Reason.READY_LATER: _ready_later,
    Reason.READY_HERE: _ready_here,
    Reason.READY_EARLIER_ONLY: _ready_earlier,
    Reason.NEED_DATE_PAST: _need_past,
    Reason.NOT_BY_NEED: _not_by_need,
    Reason.PLAN_FALLS_SHORT: _plan_falls_short,
    Reason.NOWHERE: _nowhere,
    Reason.RISK: _risk,
    Reason.DISAGREEMENT: _disagreement,
    Reason.READING_NOT_USED: _not_used,
}


def _why_ready_now(action: Action, one: StackState, today: date) -> str:
    return f"{_chance(action.chance)}: it is at {_target(one)} and even"


def _why_read_core(action: Action, one: StackState, today: date) -> str:
    return (
        f"the forecast says ready with {_chance(action.chance)}; a core reading decides"
    )


def _why_beyond(action: Action, one: StackState, today: date) -> str:
    return "ask again nearer to it"


def _why_last_move(action: Action, one: StackState, today: date) -> str:
    need, parts = (
        one.stack.need,
        [f"ready if it stays: {_chance(action.staying)}"],
    )
    if need is not None and action.by is not None:
        parts.append(f"if moved, on {spoken(need, today)}: {_chance(action.chance)}")
    if action.even_by is not None and action.even_by != action.by:
        parts.append(f"an even chance if by {spoken(action.even_by, today)}")
    return "; ".join(parts)


def _why_ready(action: Action, one: StackState, today: date) -> str:
    return "read the core before you use it"


def _why_earlier(action: Action, one: StackState, today: date) -> str:
    need = one.stack.need or today
    return f"still ready on {spoken(need, today)}: {_chance(action.chance)}"


def _why_late(action: Action, one: StackState, today: date) -> str:
    if action.reason is Reason.NEED_DATE_PAST:
        return "give it a later need date"
    if action.lowest_mc is None:
        return f"ready in time: {_chance(action.chance)}"
    lowest = f"here it gets to about {action.lowest_mc:.0f} %"
    least = None if one.target is None else one.target.least
    if least is not None and action.lowest_mc < least:
        return f"{lowest}, too dry for {_target(one)}; it takes a damper room"
    if action.reason is Reason.NOWHERE:
        return f"{lowest}; it takes a drier room"
    return f"{lowest}; ready in time: {_chance(action.chance)}"


def _why_risk(action: Action, one: StackState, today: date) -> str:
    return "" if action.risk is None else risk_reason(action.risk)


def _why_not_used(action: Action, one: StackState, today: date) -> str:
    last = action.reading
    return "" if last is None else doubt_words(last.doubts[0], last, "si")


_WHY = {
    Reason.READY_NOW: _why_ready_now,
    Reason.MAY_BE_READY: _why_read_core,
    Reason.BEYOND_HORIZON: _why_beyond,
    Reason.LAST_MOVE: _why_last_move,
    Reason.READY_LATER: _why_ready,
    Reason.READY_HERE: _why_ready,
    Reason.READY_EARLIER_ONLY: _why_earlier,
    Reason.NEED_DATE_PAST: _why_late,
    Reason.NOT_BY_NEED: _why_late,
    Reason.PLAN_FALLS_SHORT: _why_late,
    Reason.NOWHERE: _why_late,
    Reason.RISK: _why_risk,
    Reason.READING_NOT_USED: _why_not_used,
}


def first_pause(words: str, action: Action) -> str:
    """Return an action's words up to the first semicolon, where the rest is detail."""
    return words if action.kind == "late" else words.partition(";")[0]


def all_words(
    actions: Sequence[Action], one: StackState, yard: Yard, today: date
) -> list[str]:
    """Return the words of several actions of a stack."""
    return [action_words(action, one, yard, today) for action in actions]
