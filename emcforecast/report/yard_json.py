"""The JSON and the rows of `yard`."""

from collections.abc import Mapping
from typing import Any

from emcforecast.ensemble.percentiles import Range
from emcforecast.report.yard import answer
from emcforecast.yard.actions import Action
from emcforecast.yard.corrected import Corrected
from emcforecast.yard.recent import Recent
from emcforecast.yard.result import StackState, YardState


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
        "ready": dict(zip(("p10", "p50", "p90"), one.advice.ready, strict=True)),
        "no_gain_after": one.advice.no_gain_after,
        "recent_years": None if one.recent is None else recent_result(one.recent),
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


def recent_result(found: Recent) -> dict[str, Any]:
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
