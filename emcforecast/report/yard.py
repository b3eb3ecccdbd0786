"""The words, the table and the JSON of `yard`."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

import numpy as np

from emcforecast.cautions import Caution
from emcforecast.dates import spoken, spoken_span
from emcforecast.ensemble.percentiles import Reached
from emcforecast.language import N_, _, did_you_mean
from emcforecast.report.boards import extrapolated_words
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.doubts import doubt_words
from emcforecast.report.names import place_title, use_name, wood_name
from emcforecast.report.storage import fallback_words
from emcforecast.report.updates import air_warnings
from emcforecast.report.words import is_narrow, listed, sentence, wrapped
from emcforecast.report.yard_actions import (
    action_words,
    all_words,
    first_pause,
    next_words,
)
from emcforecast.report.yard_readings import readings_lines
from emcforecast.storage.settings import Setting
from emcforecast.units import UnitSystem, format_mass
from emcforecast.yard.actions import Action
from emcforecast.yard.log_rows import HEADER
from emcforecast.yard.recent_years import RecentAnswer
from emcforecast.yard.result import StackState, YardState

QUESTIONED = N_("Readings that are questioned")
READINGS = N_("Readings")
MORE = N_("What the readings did: --readings   Picture: --plot yard.png")
SOON_DAYS = 7
_MOST_NAMED = 3


def yard_text(
    state: YardState, based_on: Sequence[str], *, readings: bool = False
) -> str:
    """Return the answer of `yard` for a screen of 80 columns.

    Parameters
    ----------
    state : YardState
    based_on : sequence of str
        What the answer is based on.
    readings : bool
        Whether what every reading did is shown, not only those that are questioned.

    Returns
    -------
    str
        What is to do, a line a stack, when each gets where, the readings.
    """
    parts = [wrapped(answer(state)), _table(state), _dates_table(state)]
    said = readings_lines(state, every=readings)
    if said:
        parts.append("\n".join([_(READINGS if readings else QUESTIONED), *said]))
    lines = [wrapped(line) for line in based_on]
    if not readings and any(one.effect.readings for one in state.stacks):
        lines.append(wrapped(_(MORE)))
    parts.append("\n".join(lines))
    return "\n\n".join(parts)


def answer(state: YardState) -> str:
    """Say in a sentence what has to be done now and what comes next.

    Parameters
    ----------
    state : YardState

    Returns
    -------
    str
    """
    until = state.today + timedelta(days=SOON_DAYS)
    due = [
        (one, action)
        for one in state.stacks
        if (action := one.next).day <= until and not action.unhurried
    ]
    later = sorted(
        (action.day, one.stack.name, _words(action, one, state))
        for one in state.stacks
        for action in one.actions
        if action.day > until and action.kind not in ("wait", "describe", "stack")
    )
    said = _("nothing to do this week.")
    if due:
        together: dict[str, list[str]] = {}
        for one, action in due:
            words = first_pause(_words(action, one, state), action)
            together.setdefault(words, []).append(one.stack.name)
        groups = [f"{_names(names)}: {words}" for words, names in together.items()]
        rest = [
            name for names in list(together.values())[_MOST_NAMED:] for name in names
        ]
        said = _(
            N_("to do this week: {actions}; and see below for {stacks}.")
            if rest
            else N_("to do this week: {actions}."),
            actions="; ".join(groups[:_MOST_NAMED]),
            stacks=_names(rest),
        )
    if later:
        _day, name, words = later[0]
        after = _("After that, {stack}: {do}.", stack=name, do=words)
        said = f"{said} {after}"
    return f"{state.yard.name}, {spoken(state.today, state.today)}: {said}"


def _names(names: Sequence[str]) -> str:
    if len(names) <= _MOST_NAMED + 1:
        return listed(names)
    return _(
        "{names} and {count} more",
        names=", ".join(names[:_MOST_NAMED]),
        count=len(names) - _MOST_NAMED,
    )


def _words(action: Action, one: StackState, state: YardState) -> str:
    return action_words(action, one, state.yard, state.today)


def _table(state: YardState) -> str:
    """Say how every stack stands and what is next, the most urgent first."""
    until = state.today + timedelta(days=SOON_DAYS)
    if is_narrow():
        return "\n".join(_tall(one, state, until) for one in state.stacks)
    width = min(max(len(one.stack.name) for one in state.stacks), 14)
    mark = max(4, len(_("NOW")) + 1)
    indent = " " * (mark + width + 22)
    heads = (_("MC, %"), _("shell"), _("core"))
    numbers = "".join(
        f"{head:>{letters}}" for head, letters in zip(heads, (5, 7, 6), strict=True)
    )
    stack, do = _("stack"), _("do next")
    lines = [f"{'':<{mark}}{stack:<{width}}  {numbers}  {do}"]
    for one in state.stacks:
        first = (
            f"{_mark(one, until):<{mark}}{one.stack.name:<{width}}"
            f"  {one.mean.p50:5.0f}"
            f"{one.shell.p50:7.0f}{one.core.p50:6.0f}  "
        )
        if len(first) > len(indent):
            # A long name takes a line of its own: nothing is cut off.
            lines.append(f"{_mark(one, until):<{mark}}{one.stack.name}")
            first = f"{'':<{mark + width}}{first[-22:]}"
        lines.append(wrapped(next_sentences(one, state), first=first, rest=indent))
    return "\n".join(lines)


def _tall(one: StackState, state: YardState, until: date) -> str:
    """Lay one stack out for a phone."""
    now = _(
        "Now {mc:.0f} %, shell {shell:.0f}, core {core:.0f}.",
        mc=one.mean.p50,
        shell=one.shell.p50,
        core=one.core.p50,
    )
    text = f"{_mark(one, until)} {one.stack.name}: {next_sentences(one, state)} {now}"
    return wrapped(text.strip(), rest="  ")


def _mark(one: StackState, until: date) -> str:
    """Mark what is to do this week."""
    return _("NOW") if _is_due(one, until) else ""


def is_due(one: StackState, state: YardState) -> bool:
    """Say whether a stack has something to do this week."""
    return _is_due(one, state.today + timedelta(days=SOON_DAYS))


def _is_due(one: StackState, until: date) -> bool:
    return one.next.day <= until and not one.next.unhurried


def wood_words(one: StackState) -> str:
    """Name a stack's wood and size: "white ash 4/4"."""
    size = one.stack.thickness.nominal or one.stack.thickness.text
    return _("{wood} {size}", wood=wood_name(one.stack.wood), size=size)


def next_sentences(one: StackState, state: YardState) -> str:
    """Say what is next, and below it which reading is not used."""
    lead = next_words(one.next, one, state.yard, state.today)
    lead = lead.removeprefix(_("now: {do}", do=""))
    questions = all_words(one.effect.questions, one, state.yard, state.today)
    return " ".join(sentence(words) for words in (lead, *questions))


def _dates_table(state: YardState) -> str:
    """Say when every stack gets where if it stays where it is."""
    lines = [wrapped(_("If each stays where it is: likely date (early to late)"))]
    width = max(len(one.stack.name) for one in state.stacks)
    rest = "  " if is_narrow() else " " * (width + 2)
    for one in state.stacks:
        place = place_title(one.storage.kind)
        words = f"{wood_words(one)}, {place}: {'; '.join(reach_words(one, state))}"
        lines.append(wrapped(words, first=f"{one.stack.name:<{width}}  ", rest=rest))
    return "\n".join(lines)


def reach_words(one: StackState, state: YardState) -> list[str]:
    """Say when a stack that stays gets where, and what recent years alone say."""
    said = [
        words for reach in one.reaches if (words := _reach(reach, one, state.today))
    ]
    said = said or ["air-dry, below 20 %"]
    return said if one.recent is None else [*said, _recent(one.recent, state.today)]


def _reach(reach: Reached, one: StackState, today: date) -> str:
    """Say when one moisture is reached; one passed long ago needs no words."""
    if one.target is None or reach.mc != one.target.high:
        if _past(reach.p50, today):
            again = one.mean.p50 > reach.mc + 0.5
            return _("above {mc:g} % again", mc=reach.mc) if again else ""
        days = [_date(day) for day in (reach.p10, reach.p50, reach.p90)]
        if dates := _dates(days, today):
            return _("{mc:g} % {dates}", mc=reach.mc, dates=dates)
        return _("{mc:g} % not here", mc=reach.mc)
    label = use_name(one.target)
    if "%" not in label:
        label = _("{use} at {mc:g} %", use=label, mc=reach.mc)
    if one.next.kind == "ready" and one.next.day <= today:
        return _("ready for {use}: now", use=label)
    # Not the mean alone: the core must have come down too.
    ready = one.advice.ready
    dates = _dates((ready.p10, ready.p50, ready.p90), today)
    if dates:
        return _("ready for {use}: {dates}", use=label, dates=dates)
    if reach.p50 is not None and _past(reach.p50, today):
        was = spoken(date.fromisoformat(str(reach.p50)), today)
        return _("{use}: was there {date}, above it again now", use=label, date=was)
    return _("{use}: not here", use=label)


def _date(day: np.datetime64 | None) -> date | None:
    return None if day is None else date.fromisoformat(str(day))


def _past(day: np.datetime64 | None, today: date) -> bool:
    found = _date(day)
    return found is not None and found <= today


def _dates(found: Sequence[date | None], today: date) -> str:
    """Say a likely date with the early and late ones, "" for never."""
    early, middle, late = found
    if middle is None:
        return ""
    first = max(early or middle, today)
    said = _("now") if middle <= today else spoken(middle, today)
    if late is None:
        return _(
            "{date} (early {early}, late not at all)",
            date=said,
            early=spoken(first, today),
        )
    if first >= late:
        return said
    return f"{said} ({spoken_span(first, late, today)})"


def _recent(found: RecentAnswer, today: date) -> str:
    """Set the recent years beside all of them."""
    whole, recent = found.whole, found.recent
    words = _(
        N_(
            "the years {first} to {last} alone are drier: down to {recent:.1f} % in "
            "them, {all:.1f} % in all {years}"
        )
        if recent.driest < whole.driest
        else N_(
            "the years {first} to {last} alone are damper: down to {recent:.1f} % in "
            "them, {all:.1f} % in all {years}"
        ),
        first=recent.years[0],
        last=recent.years[-1],
        recent=recent.driest,
        all=whole.driest,
        years=len(whole.years),
    )
    dates = [
        spoken(side.reached, today) if side.reached else _("not here")
        for side in (recent, whole)
    ]
    if dates[0] == dates[1]:
        return words
    return _(
        "{recent_years} ({mc:g} % {recent}, {all} in all)",
        recent_years=words,
        mc=found.mc,
        recent=dates[0],
        all=dates[1],
    )


def _places(one: StackState, settings: Mapping[str, Setting]) -> list[Setting]:
    """Return where a stack is, and where it is to go."""
    return [one.storage, *(settings[a.place] for a in one.actions if a.place)]


def cautions_of(state: YardState, system: UnitSystem) -> tuple[str, ...]:
    """Return the cautions that apply, with the weight of what is on a loft floor."""
    settings = state.yard.settings
    found = cautions_for(
        [p.kind for one in state.stacks for p in _places(one, settings)],
        stacked=True,
        thickness_mm=max(one.stack.thickness.actual_mm for one in state.stacks),
        risks=[week for one in state.stacks for week in one.risks],
        also=[Caution.METER],
    )
    weights = [
        f"{one.stack.name} {format_mass(one.weight_kg, system)}"
        for one in state.stacks
        if one.weight_kg is not None and Caution.WEIGHT in one.storage.about.cautions
    ]
    lead = [_("Boards on a loft floor now: {weights}.", weights=", ".join(weights))]
    hint = _("`emcforecast weight` gives the load of a stack.")
    return tuple(
        " ".join([*(lead if weights else []), hint, words])
        if caution is Caution.WEIGHT
        else words
        for caution, words in zip(found, caution_words(found), strict=True)
    )


def yard_warnings(state: YardState, system: UnitSystem = "si") -> list[str]:
    """Say what weakens the answer."""
    lines = [*state.yard.notes, *_unread_columns(state)]
    lines += [
        *fallback_words(state.air.fallbacks),
        *_unread(state),
        *air_warnings(state.air),
    ]
    thick = [one.stack.name for one in state.stacks if one.stack.board.extrapolated]
    if thick:
        lines.append(extrapolated_words(system, listed(thick)))
    if not state.air.many_years:
        lines.append(
            _(
                "the weather is one year or a typical one: it has no range from year "
                "to year"
            )
        )
    return lines


def _unread_columns(state: YardState) -> list[str]:
    """Say which columns of the readings log mean nothing."""
    log = state.yard.readings
    return [
        _("{log}: the column '{column}' is not read.", log=log, column=name)
        + did_you_mean(name, HEADER)
        for name in state.unread_columns
    ]


def _unread(state: YardState) -> list[str]:
    """Say which rows of the log could not be read, or name no stack of the yard."""
    log = state.yard.readings.name
    lines = [
        _("{log} {line}: kept, not used", log=log, line=text)
        for text in state.judged.unread
    ]
    known = {stack.name.casefold() for stack in state.yard.stacks}
    for one in state.judged.readings:
        if one.reading.stack.casefold() not in known:
            why = doubt_words(one.doubts[0], one, "si")
            said = _(
                "{log} line {line}: {why}: kept, not used",
                log=log,
                line=one.reading.line,
                why=why,
            )
            lines.append(said)
    return lines
