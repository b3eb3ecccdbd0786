"""The JSON and the rows of `yard`."""

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from emcforecast.ensemble.percentiles import Range
from emcforecast.language import _
from emcforecast.report.boards import board_result
from emcforecast.report.doubts import doubt_words
from emcforecast.report.names import wood_name
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import risk_reason
from emcforecast.report.yard import answer
from emcforecast.report.yard_actions import action_words, effect_words
from emcforecast.report.yard_readings import pair_words, reading_steps
from emcforecast.report.yard_reasons import action_why
from emcforecast.yard.actions import Action
from emcforecast.yard.calendar import Entry
from emcforecast.yard.corrected import Corrected
from emcforecast.yard.recent_years import RecentAnswer
from emcforecast.yard.result import StackState, YardState


def yard_result(state: YardState) -> dict[str, Any]:
    """Return the JSON result of `yard`."""
    return {
        "yard": state.yard.name,
        "today": state.today,
        "answer": answer(state),
        "stacks": [stack_result(one, state) for one in state.stacks],
        "readings_log": {
            "file": state.yard.readings.name,
            "used": sum(one.used for one in state.judged.readings),
            "questioned": sum(not one.used for one in state.judged.readings),
            "unread": list(state.judged.unread),
        },
    }


def stack_result(one: StackState, state: YardState) -> dict[str, Any]:
    """Return the JSON of one stack."""
    move, ready = one.advice.bring_in, one.advice.ready
    sizes = board_result(one.stack.board)
    return {
        "name": one.stack.name,
        **sizes,
        "stacked": one.stack.stacked,
        "setting": one.setting,
        "kind": one.storage.kind,
        "weight_kg": one.weight_kg,
        "now": {"mean": one.mean, "shell": one.shell, "core": one.core},
        "target": one.target,
        "need": one.stack.need,
        "reaches": list(one.reaches),
        "ready": {"p10": ready.p10, "p50": ready.p50, "p90": ready.p90},
        "no_gain_after": one.advice.no_gain_after,
        "recent_years": None if one.recent is None else recent_result(one.recent),
        "probability_staying": one.advice.stay_chance,
        "ready_earlier_only": one.advice.ready_earlier,
        "bring_in": None
        if move is None
        else {
            "setting": move.setting,
            "by": move.by,
            "even_chance_by": move.even_by,
            "probability": move.chance,
            "ready": {
                "p10": move.ready.p10,
                "p50": move.ready.p50,
                "p90": move.ready.p90,
            },
        },
        "next": action_result(one.next, one, state),
        "actions": [action_result(action, one, state) for action in one.actions],
        "risks": [
            {
                "risk": r.risk,
                "level": r.level,
                "reason": risk_reason(r),
                "advice": risk_advice(r),
            }
            for r in one.risks
        ],
        "readings": [reading_result(reading) for reading in one.effect.readings],
        "reading_effect": {
            "above_forecast": one.effect.above,
            "moved_days": one.effect.moved_days,
            "words": effect_words(one),
            "shell_and_core": pair_words(one),
        },
    }


def recent_result(found: RecentAnswer) -> dict[str, Any]:
    """Return the JSON of what recent years say, beside the whole record."""
    sides = (("all", found.whole), ("recent", found.recent))
    return {
        "mc": found.mc,
        **{
            name: {
                "years": [side.years[0], side.years[-1]],
                "driest": side.driest,
                "reached": side.reached,
            }
            for name, side in sides
        },
    }


def action_result(action: Action, one: StackState, state: YardState) -> dict[str, Any]:
    """Return the JSON of one thing to do."""
    return {
        "action": action.kind,
        "date": action.day,
        "words": action_words(action, one, state.yard, state.today),
        "why": action_why(action, one, state.today),
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
        "steps": reading_steps(one),
        "used": one.used,
        "questioned": [doubt_words(doubt, one, "si") for doubt in one.doubts],
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
            "words": action_words(one.next, one, state.yard, state.today),
        }
        rows.append(row)
    return rows


def _range_cells(name: str, value: Range) -> Mapping[str, float | None]:
    return {
        f"{name}_p10": value.p10,
        f"{name}_p50": value.p50,
        f"{name}_p90": value.p90,
    }


READ_BEFORE_DAYS = 10
"""A reading is asked for so many days before wood is brought in or used."""


def entries_of(state: YardState) -> tuple[Entry, ...]:
    """Return one entry for each step of each stack.

    Parameters
    ----------
    state : YardState

    Returns
    -------
    tuple of Entry
        Never two with the same stack and action.
    """
    return tuple(entry for one in state.stacks for entry in _of_stack(one, state))


def _of_stack(one: StackState, state: YardState) -> list[Entry]:
    found: dict[str, Entry] = {}
    name, wood = one.stack.name, one.stack.species.spoken
    for action in one.actions:
        if not action.in_calendar or action.kind in found:
            continue
        words = action_words(action, one, state.yard, state.today)
        found[action.kind] = Entry(
            name,
            action.kind,
            action.day,
            _("{stack} ({wood}): {do}", stack=name, wood=wood_name(wood), do=words),
            action_why(action, one, state.today),
            action.remind_days,
        )
    carried = [found[kind] for kind in ("bring-in", "ready") if kind in found]
    if carried and "reading" not in found:
        first = min(carried, key=lambda entry: entry.day)
        day = max(first.day - timedelta(days=READ_BEFORE_DAYS), state.today)
        if day < first.day:
            found["reading"] = Entry(
                name,
                "reading",
                day,
                _(
                    "{stack} ({wood}): take a reading, a quarter of the thickness deep",
                    stack=name,
                    wood=wood_name(wood),
                ),
                _("Before this: {summary}", summary=first.summary),
            )
    return list(found.values())
