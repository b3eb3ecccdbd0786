"""The words of what there is to do with a stack of the yard, and why."""

from collections.abc import Sequence
from datetime import date, timedelta

from emcforecast.dates import MONTHS, spoken, spoken_span
from emcforecast.ensemble.update import Update
from emcforecast.forecast.plan.result import Dates
from emcforecast.forecast.plan.success import takes_green
from emcforecast.language import ENGLISH, N_, _, number, speaking
from emcforecast.report.names import (
    Form,
    own_place,
    place_title,
    target_words,
    use_name,
)
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import level_name, risk_name
from emcforecast.report.updates import effect_sentence, moved_words
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
    return _WORDS[action.reason](action, one, yard, today)


def next_words(action: Action, one: StackState, yard: Yard, today: date) -> str:
    """Say what to do with its day, where the words do not hold one."""
    words = action_words(action, one, yard, today)
    with speaking(ENGLISH):  # One rule for every language.
        english = action_words(action, one, yard, today)
    if action.unhurried or any(name in english for name in MONTHS):
        return words
    if action.day > today:
        return _("{date}: {do}", date=spoken(action.day, today), do=words)
    timed = " now" in english or "this week" in english
    if timed or action.kind in ("ready", "late"):
        return words
    return _("now: {do}", do=words)


def _soon(action: Action, today: date) -> bool:
    return action.day <= today + timedelta(days=1)


def effect_words(one: StackState) -> str:
    """Say what the readings of a stack did to its forecast, or ""."""
    effect = one.effect
    update: Update | None = effect.update
    if update is None or effect.today_before is None or effect.today_after is None:
        return ""
    before, after = (
        number(effect.today_before, ".1f"),
        number(effect.today_after, ".1f"),
    )
    otherwise = (
        _("the forecast stays")
        if before == after
        else _(
            "the forecast of today moved from {before} to {after} %",
            before=before,
            after=after,
        )
    )
    return effect_sentence(update, moved_words(effect.moved_days, otherwise))


def place_words(name: str, yard: Yard, form: Form) -> str:
    """Name a place as its owner does, or in the words of its kind."""
    if name in DEFAULT_PLACES:
        return place_title(yard.settings[name].kind, form)
    return own_place(name, form)


def share_words(share: float | None) -> str:
    """Say a chance in hundreds; none where it is not known."""
    return in_hundred(share or 0.0)


def _move(action: Action, yard: Yard, inside: str, outside: str, **fields: str) -> str:
    """Say a move: one sentence for places indoors, another for those in the open."""
    indoors = not takes_green(yard.settings[action.place])
    place = place_words(action.place, yard, "into the place")
    return _(inside if indoors else outside, place=place, **fields)


def _span(dates: Dates, today: date) -> str:
    early, late = dates.p10, dates.p90
    if early is None or late is None or early == late or late <= today:
        return ""
    return spoken_span(max(early, today), max(late, today), today)


def _not_stacked(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _("goes on stickers on {date}", date=spoken(action.day, today))


def _ready_now(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _("ready for {use}; dead-stack it and wrap it", use=_label(one))


def _may_be_ready(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _("read the core, mid-thickness, on two boards: it may be ready")


def _use_unknown(action: Action, one: StackState, yard: Yard, today: date) -> str:
    day = action.dates.p50
    return _(
        N_("stays above 20 % here; say what it is for (use or target in the yard file)")
        if day is None
        else N_(
            "air-dry, below 20 %; say what it is for (use or target in the yard file)"
        )
        if day <= today
        else N_(
            "below 20 % about {date}; say what it is for (use or target in the yard "
            "file)"
        ),
        date="" if day is None else spoken(day, today),
    )


def _planned(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _(
        "move to the {place} on {date}, as planned",
        place=place_words(action.place, yard, "into the place"),
        date=spoken(action.day, today),
    )


def _beyond(action: Action, one: StackState, yard: Yard, today: date) -> str:
    need = one.stack.need or today
    return _(
        "no move yet for {date}: that is beyond the {years:.0f} years looked at",
        date=spoken(need, today),
        years=action.chance or 0.0,
    )


def _last_move(action: Action, one: StackState, yard: Yard, today: date) -> str:
    need, soon = one.stack.need, _soon(action, today)
    if need is None and soon:
        return _move(
            action,
            yard,
            N_("bring into the {place} now"),
            N_("move to the {place} now"),
        )
    if need is None or action.by is not None:
        return _move(
            action,
            yard,
            N_("bring into the {place} by {date}"),
            N_("move to the {place} by {date}"),
            date=spoken(action.day if need is None else action.by or today, today),
        )
    inside, outside = (
        (
            N_("bring into the {place} now; even so only {share} are ready on {need}"),
            N_("move to the {place} now; even so only {share} are ready on {need}"),
        )
        if soon
        else (
            N_(
                "bring into the {place} about {date}; even so only {share} are ready "
                "on {need}"
            ),
            N_(
                "move to the {place} about {date}; even so only {share} are ready on "
                "{need}"
            ),
        )
    )
    return _move(
        action,
        yard,
        inside,
        outside,
        date=spoken(action.day, today),
        share=share_words(action.chance),
        need=spoken(need, today),
    )


def _on_the_way(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _(
        N_("move to the {place} now")
        if _soon(action, today)
        else N_("move to the {place} about {date}"),
        place=place_words(action.place, yard, "into the place"),
        date=spoken(action.day, today),
    )


def _ready_later(action: Action, one: StackState, yard: Yard, today: date) -> str:
    day = action.dates.p50 or action.day
    span = _span(action.dates, today)
    return _(
        N_("ready for {use} about {date} ({dates})")
        if span
        else N_("ready for {use} about {date}"),
        use=_label(one),
        date=spoken(day, today),
        dates=span,
    )


def _ready_here(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _("let it be; {ready}", ready=_ready_later(action, one, yard, today))


def _ready_earlier(action: Action, one: StackState, yard: Yard, today: date) -> str:
    need = one.stack.need or today
    place = ""
    if action.place:
        place = place_words(action.place, yard, "in the place")
    return _(
        N_(
            "ready for {use} in the {place} about {date}, then takes moisture up again "
            "before {need}; use it or wrap it tight when it is ready"
        )
        if place
        else N_(
            "ready for {use} about {date}, then takes moisture up again before {need}; "
            "use it or wrap it tight when it is ready"
        ),
        use=_label(one),
        place=place,
        date=spoken(action.day, today),
        need=spoken(need, today),
    )


def _need_past(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _(
        "not ready for {use}; the need date {date} has come",
        use=use_words(one),
        date=one.stack.need,
    )


def _not_by_need(action: Action, one: StackState, yard: Yard, today: date) -> str:
    need = one.stack.need or today
    if action.dates.p50 is None:
        return _("not ready by {need}", need=spoken(need, today))
    fields = {
        "need": spoken(need, today),
        "date": spoken(action.dates.p50, today),
    }
    if action.place and action.by is not None:
        return _(
            "not ready by {need}; ready about {date}, moved to the {place} by {by}",
            place=place_words(action.place, yard, "into the place"),
            by=spoken(action.by, today),
            **fields,
        )
    return _("not ready by {need}; ready about {date}", **fields)


def _plan_falls_short(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _("not ready for {use} by the moves that are planned", use=use_words(one))


def _nowhere(action: Action, one: StackState, yard: Yard, today: date) -> str:
    return _("cannot reach {use} in the places you have", use=use_words(one))


def _risk(action: Action, one: StackState, yard: Yard, today: date) -> str:
    risk = action.risk
    if risk is None:
        return ""
    return _(
        "{risk}, {level} risk: {advice}",
        risk=risk_name(risk.risk),
        level=level_name(risk.level),
        advice=risk_advice(risk),
    )


def _disagreement(action: Action, one: StackState, yard: Yard, today: date) -> str:
    said = {
        "weigh": N_(
            "weigh sample board {boards} this week; forecast and last reading disagree "
            "by {mc:.1f}"
        ),
        "boards": N_(
            "read two more boards this week; forecast and last reading disagree by "
            "{mc:.1f}"
        ),
        "oven": N_(
            "dry a piece in an oven this week; forecast and last reading disagree by "
            "{mc:.1f}"
        ),
        "pins": N_(
            "read two more boards, pins at a quarter of the thickness this week; "
            "forecast and last reading disagree by {mc:.1f}"
        ),
    }[action.how]
    return _(said, boards=", ".join(action.boards), mc=action.difference_mc or 0.0)


def _not_used(action: Action, one: StackState, yard: Yard, today: date) -> str:
    last = action.reading
    if last is None:
        return ""
    incomplete = (DoubtKind.NO_OVEN_DRY_WEIGHT, DoubtKind.BELOW_OVEN_DRY_WEIGHT)
    return _(
        N_(
            "log it again with its right date: the reading of {date} ({reading}) is "
            "not used"
        )
        if last.reading.day > today
        else N_(
            "complete the sample board in the yard file: the reading of {date} "
            "({reading}) is not used"
        )
        if last.doubts[0].kind in incomplete
        else N_("read again: the reading of {date} ({reading}) is not used"),
        date=spoken(last.reading.day, today),
        reading=last.reading.shown,
    )


def _label(one: StackState) -> str:
    return "" if one.target is None else use_name(one.target)


def use_words(one: StackState) -> str:
    """Name what a stack is for, with its range; "" where nobody said."""
    return "" if one.target is None else target_words(one.target)


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


def first_pause(words: str, action: Action) -> str:
    """Return an action's words up to the first semicolon, where the rest is detail."""
    return words if action.kind == "late" else words.partition(";")[0]


def all_words(
    actions: Sequence[Action], one: StackState, yard: Yard, today: date
) -> list[str]:
    """Return the words of several actions of a stack."""
    return [action_words(action, one, yard, today) for action in actions]
