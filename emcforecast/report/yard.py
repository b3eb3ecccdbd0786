"""The words, the table and the JSON of `yard`."""

import textwrap
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from emcforecast.cautions import CAUTIONS, cautions
from emcforecast.forecast.quantiles import Range
from emcforecast.report.words import listed, sentence, wrapped
from emcforecast.units import UnitSystem, format_mass
from emcforecast.yard.actions import Action, day_words
from emcforecast.yard.corrected import Corrected
from emcforecast.yard.state import Reach, StackState, YardState

WIDTH = 80
SOON_DAYS = 7
_MOST_NAMED = 3
_UNHURRIED = ("wait", "describe", "stack")


def yard_text(state: YardState, rests: Sequence[str]) -> str:
    """Return the answer of `yard` for a screen of 80 columns.

    Parameters
    ----------
    state : YardState
    rests : sequence of str
        What the answer rests on.

    Returns
    -------
    str
        The answer, the table of stacks, when each gets where, the readings.
    """
    parts = [wrapped(answer(state)), _table(state), _dates_table(state)]
    told = readings_lines(state)
    if told:
        parts.append("\n".join(["Readings", *told]))
    parts.append("\n".join(wrapped(line) for line in rests))
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
        if (action := one.next).day <= until and action.kind not in _UNHURRIED
    ]
    later = sorted(
        (action.day, one.stack.name, action.words)
        for one in state.stacks
        for action in one.actions
        if action.day > until and action.kind not in _UNHURRIED
    )
    lead = f"{state.yard.name}, {day_words(state.today, state.today)}: "
    if due:
        together: dict[str, list[str]] = {}
        for one, action in due:
            together.setdefault(_first(action), []).append(one.stack.name)
        groups = [f"{_names(names)}: {words}" for words, names in together.items()]
        more = sum(len(names) for names in list(together.values())[_MOST_NAMED:])
        others = f"{more} more stack{'' if more == 1 else 's'}"
        tail = f"; and {others} below" if more > 0 else ""
        said = f"to do this week: {'; '.join(groups[:_MOST_NAMED])}{tail}."
    else:
        said = "nothing to do this week."
    if later:
        _, name, words = later[0]
        said += f" After that, {name}: {words}."
    return lead + said


def _names(names: Sequence[str]) -> str:
    if len(names) <= _MOST_NAMED + 1:
        return listed(names)
    return f"{', '.join(names[:_MOST_NAMED])} and {len(names) - _MOST_NAMED} more"


def _first(action: Action) -> str:
    """Return an action's words up to the first semicolon."""
    return action.words.partition(";")[0]


def _table(state: YardState) -> str:
    rows = [(*_now_cells(one), sentence(one.next.words)) for one in state.stacks]
    head = ("stack", "wood", "now", "shell-core", "next")
    widths = [max(len(row[k]) for row in [head, *rows]) for k in range(4)]
    widths = [min(widths[0], 14), min(widths[1], 24), widths[2], widths[3]]
    indent = sum(widths) + 2 * len(widths)
    lines = ["Moisture now in % of oven-dry mass, the most urgent first"]
    for row in [head, *rows]:
        cells = [
            f"{text:>{w}}" if k == 2 else f"{text:<{w}}"
            for k, (text, w) in enumerate(zip(row[:4], widths, strict=True))
        ]
        lines.append(
            textwrap.fill(
                row[4],
                max(WIDTH, indent + 24),
                initial_indent="  ".join(cells) + "  ",
                subsequent_indent=" " * indent,
                break_long_words=False,
                drop_whitespace=True,
            )
        )
    return "\n".join(lines)


def _now_cells(one: StackState) -> tuple[str, str, str, str]:
    stack = one.stack
    size = stack.thickness.nominal or stack.thickness.text
    wood = f"{stack.wood} {size}"
    low, high = sorted((round(one.shell.p50), round(one.core.p50)))
    return stack.name, wood, f"{one.mean.p50:.0f}", f"{low}-{high}"


def _dates_table(state: YardState) -> str:
    """Say when every stack gets where, lying where it does."""
    lines = ["Where it lies now, middle weather (lucky to cautious)"]
    width = max(len(one.stack.name) for one in state.stacks)
    for one in state.stacks:
        told = "; ".join(
            words for reach in one.reaches if (words := _reach(reach, one, state.today))
        )
        place = one.storage.about.title
        lines.append(
            textwrap.fill(
                f"{one.stack.name:<{width}}  {place}: {told}",
                WIDTH,
                subsequent_indent=" " * (width + 2),
                break_long_words=False,
            )
        )
    return "\n".join(lines)


def _reach(reach: Reach, one: StackState, today: date) -> str:
    """Say when one moisture is reached; one passed long ago needs no words."""
    target = one.target is not None and reach.mc == one.target.high
    label = f"{reach.mc:g} %"
    if target and one.target is not None and "%" not in one.target.label:
        label = f"{one.target.label} {reach.mc:g} %"
    if reach.p50 is None:
        return f"{label} not here"
    if reach.p50 <= today:
        if one.mean.p50 > reach.mc + 0.5:
            return f"{label} {day_words(reach.p50, today)}, above it again now"
        return f"{label} since {day_words(reach.p50, today)}" if target else ""
    early = reach.p10 or reach.p50
    late = "not in bad years" if reach.p90 is None else day_words(reach.p90, today)
    joint = ", " if reach.p90 is None else " to "
    lucky = day_words(max(early, today), today)
    return f"{label} {day_words(reach.p50, today)} ({lucky}{joint}{late})"


def readings_lines(state: YardState) -> list[str]:
    """Say what the readings did, and which are questioned and why.

    Parameters
    ----------
    state : YardState

    Returns
    -------
    list of str
        Wrapped, one paragraph a stack or reading.
    """
    lines = []
    for one in state.stacks:
        if one.heard.words:
            last = next(r for r in reversed(one.heard.readings) if r.used)
            when = day_words(last.reading.day, state.today)
            text = f"{one.stack.name}: {one.heard.words} ({when}, {last.shown})."
            text += f" Shell and core: {one.heard.pair}" if one.heard.pair else ""
            lines.append(wrapped(text))
    for one in state.stacks:
        for reading in one.heard.readings:
            if not reading.used:
                lines.append(wrapped(questioned_words(reading, state.today)))
    return lines


def questioned_words(one: Corrected, today: date) -> str:
    """Say why a reading is questioned.

    Parameters
    ----------
    one : Corrected
        With doubts.
    today : date

    Returns
    -------
    str
    """
    r = one.reading
    line = f" (line {r.line})" if r.line else ""
    return (
        f"{r.stack}, {day_words(r.day, today)}, {r.kind} {r.shown}{line}: questioned, "
        f"kept and not used. {sentence(one.doubts[0])}"
    )


def reading_text(state: StackState, one: Corrected, today: date) -> str:
    """Return what `yard reading` says of a new reading.

    Parameters
    ----------
    state : StackState
        Of its stack, the reading counted.
    one : Corrected
        The reading.
    today : date

    Returns
    -------
    str
        The answer, then each step, then what is next.
    """
    now = f"{state.stack.name} now: {_range_words(state.mean)} in the mean, "
    now += f"shell {state.shell.p50:.0f}, core {state.core.p50:.0f}."
    one = next(r for r in state.heard.readings if r.reading == one.reading)
    if one.used:
        lead = f"{state.stack.name}: {state.heard.words}."
    else:
        lead = questioned_words(one, today)
    parts = [wrapped(lead)]
    parts += [wrapped(step) for step in one.steps]
    if one.used and one.mc is None:
        parts.append("It counts as wet: above 30 %.")
    if state.heard.pair:
        parts.append(wrapped(f"Shell and core: {state.heard.pair}"))
    parts.append(wrapped(f"{now} Next: {sentence(state.next.words)}"))
    return "\n".join(parts)


def _range_words(value: Range) -> str:
    if value.p10 is None or value.p90 is None:
        return f"{value.p50:.0f} %"
    return f"{value.p50:.0f} % ({value.p10:.0f} to {value.p90:.0f})"


def yard_result(state: YardState) -> dict[str, Any]:
    """Return the JSON result of `yard`."""
    return {
        "yard": state.yard.name,
        "today": state.today,
        "answer": answer(state),
        "stacks": [stack_result(one) for one in state.stacks],
        "readings_log": {
            "file": state.yard.readings.name,
            "used": sum(one.used for one in state.judged.readings),
            "questioned": sum(not one.used for one in state.judged.readings),
            "unread": list(state.judged.unread),
        },
    }


def stack_result(one: StackState) -> dict[str, Any]:
    """Return the JSON of one stack."""
    move = one.advice.move_in
    return {
        "name": one.stack.name,
        "species": one.stack.species.spoken,
        "thickness_mm": one.stack.thickness.actual_mm,
        "stacked": one.stack.stacked,
        "setting": one.setting,
        "kind": one.storage.kind,
        "weight_kg": one.weight_kg,
        "now": {"mean": one.mean, "shell": one.shell, "core": one.core},
        "target": one.target,
        "need": one.stack.need,
        "reaches": list(one.reaches),
        "no_gain_after": one.advice.no_gain_after,
        "probability_staying": one.advice.stay_chance,
        "bring_in": None
        if move is None
        else {
            "setting": move.setting,
            "by": move.by,
            "even_chance_by": move.even,
            "probability": move.chance,
            "ready": dict(zip(("p10", "p50", "p90"), move.ready, strict=True)),
        },
        "next": action_result(one.next),
        "actions": [action_result(action) for action in one.actions],
        "risks": [
            {"risk": r.risk, "level": r.level, "reason": r.reason, "advice": r.advice}
            for r in one.risks
        ],
        "readings": [reading_result(reading) for reading in one.heard.readings],
        "reading_effect": {
            "above_forecast": one.heard.above,
            "moved_days": one.heard.moved_days,
            "words": one.heard.words,
            "shell_and_core": one.heard.pair,
        },
    }


def action_result(action: Action) -> dict[str, Any]:
    """Return the JSON of one thing to do."""
    return {
        "action": action.kind,
        "date": action.day,
        "words": action.words,
        "why": action.why,
    }


def reading_result(one: Corrected) -> dict[str, Any]:
    """Return the JSON of one reading."""
    r = one.reading
    return {
        "time": r.day if r.whole_day else r.time,
        "board": r.board,
        "kind": r.kind,
        "value": r.value,
        "corrected": one.mc,
        "wet": one.wet,
        "sd": one.sd,
        "steps": list(one.steps),
        "used": one.used,
        "questioned": list(one.doubts),
        "line": r.line,
    }


def yard_rows(state: YardState) -> list[dict[str, Any]]:
    """Return the table as rows for a CSV file."""
    rows = []
    for one in state.stacks:
        row: dict[str, Any] = {
            "stack": one.stack.name,
            "species": one.stack.species.spoken,
            "thickness_mm": one.stack.thickness.actual_mm,
            "setting": one.setting,
            "kind": one.storage.kind,
        }
        for name, value in (("mean", one.mean), ("shell", one.shell)):
            row |= _range_cells(name, value)
        row |= _range_cells("core", one.core)
        row |= {
            "next": one.next.kind,
            "date": one.next.day,
            "words": one.next.words,
        }
        rows.append(row)
    return rows


def _range_cells(name: str, value: Range) -> Mapping[str, float | None]:
    return {
        f"{name}_p10": value.p10,
        f"{name}_p50": value.p50,
        f"{name}_p90": value.p90,
    }


def _aloft(one: StackState) -> bool:
    """Whether a stack lies in a loft or is told to go to one."""
    told = any("loft" in a.words or "roof space" in a.words for a in one.actions)
    return told or one.storage.kind in ("loft", "attic")


def cautions_of(state: YardState, system: UnitSystem) -> tuple[str, ...]:
    """Return the cautions that apply, with the weight of what lies in a loft."""
    topics = ["meter"]
    aloft = [one for one in state.stacks if _aloft(one)]
    topics += ["weight"] if aloft else []
    if any(one.storage.kind == "dry-room" for one in state.stacks):
        topics.append("heater")
    if any(risk.risk == "mould" for one in state.stacks for risk in one.risks):
        topics.append("mould")
    weights = [
        f"{one.stack.name} {format_mass(one.weight_kg, system)}"
        for one in aloft
        if one.weight_kg is not None
    ]
    told = cautions(topics)
    if not aloft:
        return told
    lead = f"Boards on a loft floor now: {', '.join(weights)}. " if weights else ""
    floor = CAUTIONS["weight"]
    hint = "`emcforecast weight` gives the load of a stack. "
    return tuple(f"{lead}{hint}{floor}" if one == floor else one for one in told)
