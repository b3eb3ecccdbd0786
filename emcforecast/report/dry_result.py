"""The rows and the JSON result of `dry`."""

from collections.abc import Sequence
from typing import Any

from emcforecast.ensemble.percentiles import Reached, bands
from emcforecast.forecast.dry import Dry
from emcforecast.report.risks import risk_advice, risk_reason
from emcforecast.report.updates import outlier_words


def dry_rows(answer: Dry) -> list[dict[str, Any]]:
    """Return the forecast day by day; % of oven-dry mass."""
    traces = answer.runs
    mean = bands(traces.mean, traces.weight)
    shell, core, rest = (
        bands(path, traces.weight, [0.5])[0]
        for path in (traces.shell, traces.core, answer.equilibrium.path)
    )
    return [
        {
            "date": str(day),
            "mean_p10_mc_pct": mean[0, k],
            "mean_p50_mc_pct": mean[1, k],
            "mean_p90_mc_pct": mean[2, k],
            "shell_p50_mc_pct": shell[k],
            "core_p50_mc_pct": core[k],
            "dry_boards_p50_mc_pct": rest[k],
        }
        for k, day in enumerate(traces.dates)
    ]


def dry_result(answer: Dry, sentences: Sequence[str]) -> dict[str, Any]:
    """Return the JSON result; dates ISO, % of oven-dry mass."""
    rule = answer.rule
    rest = answer.equilibrium
    target = answer.target
    return {
        "board": {
            "species": answer.board.species,
            "thickness_mm": answer.board.thickness_mm,
        },
        "start_mc": answer.start_mc,
        "steps": [_step(step) for step in answer.steps],
        "target": _step(target),
        "floor": answer.floor,
        "floor_range": {
            "month": rest.month,
            "p10": rest.lowest[0],
            "p50": rest.lowest[1],
            "p90": rest.lowest[2],
        },
        "at_rest": {"lowest": rest.low, "highest": rest.high},
        "shell_at_target": target.shell,
        "core_at_target": target.core,
        "rule_of_thumb_date": None if rule is None else rule.date,
        "rule_of_thumb_verdict": None if rule is None else rule.verdict,
        "no_gain_after": answer.no_gain_after,
        "looked_until": answer.until,
        "actual_weather_until": answer.runs.known_to
        if answer.runs.known_to > answer.begun
        else None,
        "route": [
            {"setting": s.name, "kind": s.kind, "from": day} for s, day in answer.route
        ],
        "others": [
            {"thickness_mm": board.thickness_mm, "target": _step(goal)}
            for board, goal in answer.others
        ],
        "recent": None
        if answer.recent is None
        else {
            "years": answer.recent.years,
            "floor": answer.recent.floor,
            "target": _step(answer.recent.target),
        },
        "cannot_tell": None
        if answer.settling is None
        else {
            "reading_of": answer.settling.part,
            "on": answer.settling.day,
            "expected": answer.settling.expected,
            "range_days": answer.settling.range_now,
            "range_days_after": answer.settling.range_then,
        },
        "readings": None
        if answer.update is None
        else {
            "used": len(answer.update.used),
            "above_forecast": answer.update.above,
            "moved_days": answer.update.moved_days(target.mc),
            "questioned": [
                {
                    "date": one.reading.day,
                    "mc": one.reading.mc,
                    "why": outlier_words(one),
                }
                for one in answer.update.outliers
            ],
        },
        "risks": [
            {
                "risk": d.risk,
                "level": d.level,
                "from": d.start,
                "to": d.end - 1,
                "worst_from": d.worst_start,
                "worst_to": d.worst_end - 1,
                "reason": risk_reason(d.worst),
                "advice": risk_advice(d.worst),
            }
            for d in answer.dangers
        ],
        "risks_by_week": [
            {"week": w.week, "risk": w.risk, "level": w.level, "reason": risk_reason(w)}
            for w in answer.risks
        ],
        "sentences": list(sentences),
    }


def _step(step: Reached) -> dict[str, Any]:
    return {
        "mc": step.mc,
        "p10": step.p10,
        "p50": step.p50,
        "p90": step.p90,
        "fraction_reached": round(step.fraction_reached, 4),
        "shell": step.shell,
        "core": step.core,
    }
