"""Why an action of a yard is advised, in the words of its owner."""

from datetime import date

from emcforecast.dates import spoken
from emcforecast.language import N_, _
from emcforecast.report.doubts import doubt_words
from emcforecast.report.risks import risk_reason
from emcforecast.report.yard_actions import share_words, use_words
from emcforecast.yard.actions import Action, Reason
from emcforecast.yard.result import StackState


def action_why(action: Action, one: StackState, today: date) -> str:
    """Say why, in a sentence, or "".

    Parameters as for `action_words`.
    """
    why = _WHY.get(action.reason)
    return "" if why is None else why(action, one, today)


def _why_ready_now(action: Action, one: StackState, today: date) -> str:
    return _(
        "{share}: it is at {use} and even",
        share=share_words(action.chance),
        use=use_words(one),
    )


def _why_read_core(action: Action, one: StackState, today: date) -> str:
    return _(
        "the forecast says ready with {share}; a core reading decides",
        share=share_words(action.chance),
    )


def _why_beyond(action: Action, one: StackState, today: date) -> str:
    return _("ask again nearer to it")


def _why_last_move(action: Action, one: StackState, today: date) -> str:
    need, parts = (
        one.stack.need,
        [_("ready if it stays: {share}", share=share_words(action.staying))],
    )
    if need is not None and action.by is not None:
        moved = _(
            "if moved, on {date}: {share}",
            date=spoken(need, today),
            share=share_words(action.chance),
        )
        parts.append(moved)
    if action.even_by is not None and action.even_by != action.by:
        parts.append(
            _("an even chance if by {date}", date=spoken(action.even_by, today))
        )
    return "; ".join(parts)


def _why_ready(action: Action, one: StackState, today: date) -> str:
    return _("read the core before you use it")


def _why_earlier(action: Action, one: StackState, today: date) -> str:
    need = one.stack.need or today
    return _(
        "still ready on {date}: {share}",
        date=spoken(need, today),
        share=share_words(action.chance),
    )


def _why_late(action: Action, one: StackState, today: date) -> str:
    if action.reason is Reason.NEED_DATE_PAST:
        return _("give it a later need date")
    share = share_words(action.chance)
    if action.lowest_mc is None:
        return _("ready in time: {share}", share=share)
    least = None if one.target is None else one.target.least
    return _(
        N_(
            "here it gets to about {mc:.0f} %, too dry for {use}; it takes a damper "
            "room"
        )
        if least is not None and action.lowest_mc < least
        else N_("here it gets to about {mc:.0f} %; it takes a drier room")
        if action.reason is Reason.NOWHERE
        else N_("here it gets to about {mc:.0f} %; ready in time: {share}"),
        mc=action.lowest_mc,
        use=use_words(one),
        share=share,
    )


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
