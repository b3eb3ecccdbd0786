"""The layout of `dry` for a person: table, risks, cautions."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from emcforecast.cautions import Caution
from emcforecast.dates import spoken_span
from emcforecast.ensemble.percentiles import Reached, bands
from emcforecast.forecast.dry_result import Dry
from emcforecast.forecast.risk_weeks import MOST_DAYS, Danger
from emcforecast.language import N_, _
from emcforecast.report.boards import board_result, board_warnings
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.dates import day_of, short, spoken
from emcforecast.report.dry_sentences import first_sentences, more_sentences
from emcforecast.report.names import place_title
from emcforecast.report.risk_advice import risk_advice
from emcforecast.report.risks import level_name, risk_name, risk_reason
from emcforecast.report.storage import fallback_words
from emcforecast.report.tables import step_lines, steps_to_come
from emcforecast.report.updates import air_warnings, outlier_words
from emcforecast.report.words import (
    capital,
    in_hundred,
    is_narrow,
    listed,
    wrapped,
)
from emcforecast.units import UnitSystem, kg_per_m2_to_pounds_per_ft2
from emcforecast.wood.weight import board_density

SPOIL = N_("What could spoil it (one forecast in four is as bad as this, or worse):")
MORE = N_("All risks: --risks   What else is known: --more   Picture: --plot dry.png")
SPREADS = (
    N_(
        "The range is of {years} weather years and of what is not known of wood and "
        "place."
    ),
    N_("One weather year: the range is only of what is not known of wood and place."),
)


def danger_lines(answer: Dry) -> list[str]:
    """Say the worst spell of each risk, the most pressing first."""
    lines, named = [], set()
    ahead = dangers_ahead(answer)
    for danger in ahead:
        if danger.risk in named:
            continue
        named.add(danger.risk)
        when = _days(danger.worst_start, danger.worst_end)
        if (danger.worst_start, danger.worst_end) != (danger.start, danger.end):
            when = _(
                "{worst} (moderate or worse {days})",
                worst=when,
                days=_days(danger.start, danger.end),
            )
        later = [
            other.worst_start
            for other in ahead
            if (other.risk, other.level) == (danger.risk, danger.level)
            and other.start > danger.end
        ]
        if later:
            when = _("{days}, again from {date}", days=when, date=spoken(min(later)))
        said = _(
            "{risk}: {level}, {days}. At worst: {reason}; {advice}.",
            risk=capital(risk_name(danger.risk)),
            level=level_name(danger.level),
            days=when,
            reason=risk_reason(danger.worst),
            advice=risk_advice(danger.worst),
        )
        lines.append(f"{said} {_afterwards(answer, danger)}".strip())
    return lines


def _days(start: np.datetime64, end: np.datetime64) -> str:
    """Say from which day to which a spell lasts: "1 to 28 June" with the year."""
    return spoken_span(day_of(start), day_of(end - np.timedelta64(1, "D")))


def _afterwards(answer: Dry, danger: Danger) -> str:
    """Say what becomes of mould that has grown, once none grows any more."""
    last = max(other.end for other in answer.dangers if other.risk == danger.risk)
    if danger.risk != "mould" or danger.end < last:
        return ""
    if last >= answer.begun + MOST_DAYS:
        return ""
    return _("After that none grows; what has grown may still show.")


def dry_warnings(answer: Dry, system: UnitSystem = "si") -> list[str]:
    """Say what weakens the answer."""
    lines = [*fallback_words(answer.fallbacks), *air_warnings(answer.runs.ensemble.air)]
    if answer.update is not None and answer.update.used:
        lines += [
            _(
                "Reading of {date} not used: {why}",
                date=spoken(one.reading.day),
                why=outlier_words(one),
            )
            for one in answer.update.outliers
        ]
    return [*lines, *board_warnings(answer.board, system)]


def dry_cautions(answer: Dry) -> tuple[str, ...]:
    """Return the cautions that apply to this stack and its places."""
    return caution_words(
        cautions_for(
            (place.kind for place, _day in answer.route),
            stacked=True,
            thickness_mm=answer.board.thickness_mm,
            dust=bool(answer.runs.stack.cuts),
            risks=[danger.worst for danger in answer.dangers],
            also=[Caution.METER],
        )
    )


def dry_text(
    answer: Dry,
    based_on: Sequence[str],
    system: UnitSystem,
    *,
    risks: bool = False,
    more: bool = False,
) -> str:
    """Lay out the answer for a person.

    Parameters
    ----------
    answer : Dry
        What `dry` found.
    based_on : sequence of str
        What weather it is based on.
    system : {"us", "si"}
        Units of lengths and weights.
    risks, more : bool
        Whether every risk, and what else is known, are shown.
    """
    lead, *others = first_sentences(answer, system)
    parts = [wrapped(lead), *_table(answer), *(wrapped(line) for line in others)]
    dangers = dangers_ahead(answer)
    if dangers and risks:
        lines = danger_lines(answer)
        parts += ["", wrapped(_(SPOIL)), *(wrapped(line) for line in lines), ""]
    elif dangers:
        parts.append(wrapped(worst_line(dangers)))
    if Caution.WEIGHT in cautions_for(
        (p.kind for p, _day in answer.route), stacked=True
    ):
        parts.append(wrapped(_weight(answer, system)))
    if more:
        parts += ["", *(wrapped(line) for line in more_sentences(answer))]
        spreads = SPREADS[0] if answer.many_years else SPREADS[1]
        parts.append(wrapped(_(spreads, years=len(answer.years))))
    if answer.runs.known_to > answer.begun:
        parts.append(
            wrapped(
                _(
                    "Up to {date} with the weather there was.",
                    date=spoken(answer.runs.known_to),
                )
            )
        )
    parts += [wrapped(line) for line in based_on]
    return "\n".join(parts if risks and more else [*parts, wrapped(_(MORE))])


def dangers_ahead(answer: Dry) -> list[Danger]:
    """Return the dangers that are not past on the last day of known weather."""
    return [one for one in answer.dangers if one.end > answer.runs.known_to]


def worst_line(dangers: Sequence[Danger]) -> str:
    """Say the most pressing risk, when, and what to do about it."""
    worst = dangers[0]
    others = len({danger.risk for danger in dangers}) - 1
    return _(
        N_("Worst risk: {risk}, {level}, {days}: {advice} ({others} more: --risks).")
        if others
        else N_("Worst risk: {risk}, {level}, {days}: {advice}."),
        risk=risk_name(worst.risk),
        level=level_name(worst.level),
        days=_days(worst.worst_start, worst.worst_end),
        advice=risk_advice(worst.worst),
        others=others,
    )


def _table(answer: Dry) -> list[str]:
    heads = (_("early"), _("likely"), _("late"))
    inner = (_("shell"), _("core"))
    if is_narrow():
        steps = steps_to_come(answer)
        return [line for step in steps for line in _tall(step, heads)]
    lines = [
        " " * 9
        + "".join(f"{head:<14}" for head in heads)
        + f"{inner[0]:<7}{inner[1]:<6}"
        + _("reach it"),
    ]
    for one in step_lines(answer):
        dates = f"{one.early:<14}{one.likely:<14}{one.late:<14}"
        inside = f"{one.shell:>5}{one.core:>6}"
        goal = _("to {moisture:>4}", moisture=one.moisture)
        lines.append(f"{goal:<9}{dates}{inside}  {one.share}".rstrip())
    return lines


def _tall(step: Reached, heads: Sequence[str]) -> list[str]:
    """Lay one step out for a phone: a line for each date."""
    lines = [_("to {mc:g} %", mc=step.mc)]
    wide = max(8, *(len(head) + 1 for head in heads))
    for head, day in zip(heads, (step.p10, step.p50, step.p90), strict=True):
        said = _("not reached") if day is None else short(day)
        lines.append(f"  {head:<{wide}}{said}")
    if step.shell is not None and step.core is not None:
        inside = _(
            "shell {shell:.0f}, core {core:.0f} %", shell=step.shell, core=step.core
        )
        lines.append(f"  {inside}")
    share = _("{share} reach it", share=in_hundred(step.fraction_reached))
    return [*lines, f"  {share}"]


def _weight(answer: Dry, system: UnitSystem) -> str:
    wood, metres = answer.board.wood, answer.board.thickness_mm / 1000.0
    loads = [
        board_density(wood, mc) * metres for mc in (answer.start_mc, answer.target.mc)
    ]
    if system == "us":
        now, dry = (kg_per_m2_to_pounds_per_ft2(load) for load in loads)
        unit = "lb/ft²"
    else:
        now, dry = loads
        unit = "kg/m²"
    return _(
        "Each layer weighs {now:.1f} {unit} as stacked and {dry:.1f} at {mc:g} %, "
        "without stickers: see `emcforecast weight`.",
        now=now,
        dry=dry,
        unit=unit,
        mc=answer.target.mc,
    )


def places(answer: Dry) -> str:
    """Name the places of the route: "roofed stack and ventilated barn loft"."""
    return listed([place_title(s.kind) for s, _day in answer.route])


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
        "board": board_result(answer.board),
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
            {
                "species": board.wood.name,
                "thickness_mm": board.thickness_mm,
                "target": _step(goal),
            }
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
                "to": d.last,
                "worst_from": d.worst_start,
                "worst_to": d.worst_last,
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
