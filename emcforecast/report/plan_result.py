"""The result of `plan` for other programs: JSON and rows."""

from datetime import date
from typing import Any

from emcforecast.forecast.plan.result import Dates, Earliest, LastMove, Leg, Plan
from emcforecast.forecast.risk_weeks import Danger
from emcforecast.report.boards import board_result
from emcforecast.report.plan_sentences import plan_sentences
from emcforecast.report.plan_words import drawback_words, leg_words
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import risk_reason


def plan_result(found: Plan, risks: list[str]) -> dict[str, Any]:
    """Return the JSON result; every key is told of in docs/plans.md.

    Parameters
    ----------
    found : Plan
        What `plan` found.
    risks : list of str
        What to mind.
    """
    return {
        "board": board_result(found.board),
        "target": {
            "label": found.target.label,
            "low": found.target.low,
            "high": found.target.high,
            "source": found.target.source,
        },
        "feasible": {
            name: {"probability": chance, "not_advised": drawback_words(found, name)}
            for name, chance in found.feasible.items()
        },
        "route": _route(found, found.route),
        "bring_in_by": found.bring_in_by,
        "bring_in_even_chance": found.bring_in_even,
        "bring_in_latest": _moved(found.latest),
        "little_lost_until": found.little_lost_until,
        "acclimate_days": _days(found.acclimate_days),
        "ready": _dates(found.ready),
        "probability_by_need": found.probability_by_need,
        "ready_earlier_only": found.ready_earlier,
        "moisture_by_need": found.moisture_by_need,
        "rest_by_need": found.equilibrium_by_need,
        "too_dry_there": found.too_dry,
        "earliest": _earliest(found, found.earliest),
        "earliest_even_chance": _earliest(found, found.earliest_even),
        "another_year": {
            "probability": found.another_year,
            "gain": found.another_year - found.probability_by_need,
        },
        "severe_risks": _dangers(found.dangers),
        "gentler": found.gentler
        and {
            "probability": found.gentler.chance,
            "route": _route(found, found.gentler.route),
            "severe_risks": _dangers(found.gentler.dangers),
        },
        "simpler": [
            {"settings": list(names), "probability": chance}
            for names, chance in found.simpler.items()
        ],
        "recent_years": found.recent
        and {
            "years": list(found.recent.years),
            "probability": found.recent.chance,
            "rest_over_all_years": found.recent.change,
        },
        "weather_years": found.years,
        "weather_known_to": found.known_to,
        "risks": risks,
        "bring_in_curve": plan_rows(found),
        "sentence": plan_sentences(found)[0],
    }


def _route(found: Plan, legs: tuple[Leg, ...]) -> list[dict[str, Any]]:
    return [
        {
            "setting": leg.setting,
            "kind": leg.kind,
            "from": leg.start,
            "to": leg.end,
            "moisture_at_end": leg.moisture_at_end,
            "why": leg_words(found, leg),
        }
        for leg in legs
    ]


def _dangers(dangers: tuple[Danger, ...]) -> list[dict[str, Any]]:
    return [
        {
            "risk": one.risk,
            "from": one.worst_start,
            "to": one.worst_last,
            "reason": risk_reason(one.worst),
            "advice": risk_advice(one.worst),
        }
        for one in dangers
    ]


def _dates(value: Dates) -> dict[str, date | None]:
    return {"p10": value.p10, "p50": value.p50, "p90": value.p90}


def _moved(move: LastMove | None) -> dict[str, Any] | None:
    if move is None:
        return None
    return {
        "date": move.day,
        "probability": move.chance,
        "acclimate_days": _days(move.acclimate_days),
        "ready": _dates(move.ready),
    }


def _days(value: tuple[float | None, float | None]) -> dict[str, float | None]:
    return {"p50": value[0], "p90": value[1]}


def _earliest(found: Plan, first: Earliest | None) -> dict[str, Any] | None:
    if first is None:
        return None
    return {
        "ready": first.ready,
        "bring_in_by": first.move,
        "probability": first.chance,
        "route": _route(found, first.route),
    }


def plan_rows(found: Plan) -> list[dict[str, Any]]:
    """Return the bring-in curve as rows: date and probability."""
    return [
        {"date": str(day), "probability": float(chance)}
        for day, chance in zip(found.curve_days, found.curve, strict=True)
    ]
