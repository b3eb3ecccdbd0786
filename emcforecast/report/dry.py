"""The words, table and rows of `dry`."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from emcforecast.cautions import cautions
from emcforecast.forecast.dry import Dry
from emcforecast.forecast.rest import AT_REST
from emcforecast.forecast.spread import Reached, bands
from emcforecast.report.dates import part_of, short, span, spoken
from emcforecast.report.words import listed, sentence, wrapped
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem, kg_per_m2_to_pounds_per_ft2
from emcforecast.weather.series import MONTHS
from emcforecast.wood.risk import worst
from emcforecast.wood.weight import board_density

FURNITURE = 9.0
"""Furniture wants 7 to 9 % (published targets)."""
SOON_AFTER = np.timedelta64(10, "D")
"""A date this soon after the stack is at rest is no later than that."""
WORTH_READING = 0.8
"""A reading is worth asking for that leaves this share of the range or less."""
WET_CORE = 3.0
"""Core over mean, % MC, at which the core is worth a warning."""
THICK_MM = 40.0
TIMBER_MM = 75.0
FLOORS = ("loft", "attic", "house", "house-cooled", "workshop", "dry-room", "cabin")
"""Places with a floor that the weight matters to."""
SPREADS = (
    "The range is of {years} weather years and of what is not known of wood and place.",
    "One weather year: the range is only of what is not known of wood and place.",
)


def dry_sentences(answer: Dry, system: UnitSystem) -> list[str]:
    """Say what a person can act on, the answer first.

    Parameters
    ----------
    answer : Dry
        What `dry` found.
    system : {"us", "si"}
        Units of the thickness.

    Returns
    -------
    list of str
        Whole sentences.
    """
    said = [_lead(answer, system), _rest(answer), _furniture(answer)]
    said += [_settling(answer), _core(answer), _rule(answer), _recent(answer)]
    said += [_other(board.size.label(system), goal) for board, goal in answer.others]
    return [line for line in said if line]


def _lead(answer: Dry, system: UnitSystem) -> str:
    size = answer.board.size.label(system)
    where = " and then the ".join(s.about.title for s, _ in answer.route)
    start = (
        f"{spoken(answer.begun)}: {size} {answer.board.species} from "
        f"{answer.start_mc:.0f} %, {where}."
    )
    goal, twenty = answer.target, answer.steps[-1]
    if goal.p50 is not None and goal.p90 is not None:
        if goal.p50 == answer.begun == goal.p90:
            return f"{start} It is below {goal.mc:g} % already."
        return (
            f"{start} Likely at {goal.mc:g} % by {spoken(goal.p50)}; to be safe, count "
            f"on {spoken(goal.p90)}."
        )
    until = f"within the {span(answer.traces.days)} looked at"
    if goal.p50 is not None:
        return (
            f"{start} Likely at {goal.mc:g} % by {spoken(goal.p50)}, but do not count "
            f"on it: only {_share(goal)} get there {until}."
        )
    also = (
        f" 20 % comes by {spoken(twenty.p50)}."
        if twenty.p50 is not None and goal.mc < twenty.mc
        else ""
    )
    return (
        f"{start} Do not expect {goal.mc:g} % here: {_share(goal)} get there "
        f"{until}.{also}"
    )


def _share(goal: Reached) -> str:
    if goal.fraction_reached <= 0.0:
        return "none of the forecasts"
    return f"{100.0 * goal.fraction_reached:.0f} in 100 of the forecasts"


def _rest(answer: Dry) -> str:
    rest = answer.rest
    seasons = (
        f"between {rest.low:.1f} % (usually in {MONTHS[rest.month - 1]}) and "
        f"{rest.high:.1f} %"
    )
    if answer.no_gain_after is None:
        return (
            f"It does not come to rest within {span(answer.traces.days)}; dry boards "
            f"there lie {seasons}."
        )
    return (
        f"After {part_of(answer.no_gain_after)} waiting gains nothing: it is then "
        f"within {AT_REST:g} % of wood that has lain there for years and only follows "
        f"the seasons, {seasons}.{_later(answer)}"
    )


def _later(answer: Dry) -> str:
    """Say why a date of the table may come after waiting has stopped to gain."""
    goal, rest, settled = answer.target, answer.rest, answer.no_gain_after
    if settled is None or goal.p50 is None:
        return ""
    if goal.p50 > settled + SOON_AFTER:
        if rest.low <= goal.mc <= rest.high:
            return (
                f" {goal.mc:g} % lies within that swing: it comes with a dry season, "
                "not with waiting, and goes with the next damp one."
            )
        return (
            f" The last of it, down to {goal.mc:g} %, takes longer, but a meter hardly "
            "tells the difference."
        )
    if goal.p90 is None or goal.p90 > settled + SOON_AFTER:
        return " That is the middle forecast; the cautious one takes longer."
    return ""


def _furniture(answer: Dry) -> str:
    """Say whether furniture moisture is to be had here, and when."""
    rest, place = answer.rest, answer.route[-1][0].about.title
    low, middle, high = rest.lowest
    dry_wood = f"dry wood there gets down to {middle:.1f} % ({low:.1f} to {high:.1f})"
    if low > FURNITURE:
        return (
            f"Furniture (7 to 9 %) is out of reach in the {place}: {dry_wood}. Finish "
            "it indoors."
        )
    if high > FURNITURE:
        odds = "more often than not" if middle <= FURNITURE else "only at best"
        return (
            f"Furniture (7 to 9 %) is reached in the {place} {odds}: {dry_wood}, "
            f"usually in {MONTHS[rest.month - 1]}. Go by a meter, or finish it indoors."
        )
    back = (
        f" It is back at {rest.high:.1f} % in the damp season, so take it from there "
        "in time."
        if rest.high > FURNITURE
        else ""
    )
    return (
        f"Furniture (7 to 9 %) can be had in the {place}: {dry_wood}, usually in "
        f"{MONTHS[rest.month - 1]}.{back}"
    )


def _settling(answer: Dry) -> str:
    one = answer.settling
    if one is None:
        return ""
    what = "the core" if one.part == "core" else "the mean (pins a quarter deep)"
    head = (
        f"Can't tell the date of {answer.target.mc:g} % closer than "
        f"{span(one.range_now)}"
    )
    if one.range_then > WORTH_READING * one.range_now:
        return f"{head}, and no one reading would narrow it much: read it every month."
    return (
        f"{head}. A reading of {what} about {spoken(one.day)} would "
        f"settle it most: {one.expected:.0f} % is expected then, and "
        f"{span(one.range_then)} would be left."
    )


def _core(answer: Dry) -> str:
    told = []
    for step in (*answer.steps, answer.target):
        if step.shell is None or step.core is None or step.mc > 20.0:
            continue
        if step.core - step.mc >= WET_CORE or answer.board.thickness_mm >= THICK_MM:
            told.append(
                f"at {step.mc:g} % in the mean the shell is at {step.shell:.0f} and "
                f"the core still at {step.core:.0f} %"
            )
    if not told:
        return ""
    return f"{sentence('; '.join(dict.fromkeys(told)))} Test the core, not the face."


def _rule(answer: Dry) -> str:
    rule = answer.rule
    if rule is None:
        return ""
    head = f'"A year per inch" would say {spoken(rule.date)}: {rule.verdict} here'
    if rule.days_over is None:
        return f"{head}, as it never gets to {rule.against}."
    if rule.verdict == "about right":
        return f"{head} for {rule.against}."
    longer = "too long" if rule.days_over > 0 else "too short"
    return f"{head}, {span(rule.days_over)} {longer} for {rule.against}."


def _recent(answer: Dry) -> str:
    recent = answer.recent
    if recent is None:
        return ""
    first, last = recent.years[0], recent.years[-1]
    goal = (
        f"; {recent.target.mc:g} % by {spoken(recent.target.p50)}"
        if recent.target.p50 is not None
        else ""
    )
    drier = "drier" if recent.floor < answer.floor else "damper"
    return (
        f"The years {first} to {last} alone are {drier}: dry wood gets down to "
        f"{recent.floor:.1f} % in them, {answer.floor:.1f} % in all{goal}."
    )


def _other(size: str, goal: Reached) -> str:
    when = "not reached" if goal.p50 is None else f"by {spoken(goal.p50)}"
    return f"The {size} boards in it: {goal.mc:g} % {when}; the thickest govern."


def danger_lines(answer: Dry) -> list[str]:
    """Tell the worst spell of each risk, the most pressing first."""
    lines, told = [], set()
    for danger in answer.dangers:
        if danger.risk in told:
            continue
        told.add(danger.risk)
        last = danger.end - 1
        same = str(danger.start)[:4] == str(last)[:4]
        when = f"{spoken(danger.start, not same)} to {spoken(last)}"
        advice = f"; {danger.advice}" if danger.advice else ""
        lines.append(
            f"{danger.risk.capitalize()}: {danger.level}, {when}. "
            f"At worst: {danger.reason}{advice}."
        )
    return lines


def dry_warnings(answer: Dry) -> list[str]:
    """Say what weakens the answer."""
    lines = list(answer.fallbacks)
    if answer.board.factor.how.startswith("default"):
        lines.append(
            f"No drying time is published for {answer.board.species}: its pace is "
            f"reckoned from its density ({answer.board.factor.how})."
        )
    return lines


def dry_cautions(answer: Dry) -> tuple[str, ...]:
    """Return the cautions that apply to this stack and its places."""
    kinds = {setting.kind for setting, _ in answer.route}
    topics = {"meter"}
    if kinds & set(FLOORS):
        topics.add("weight")
    if kinds & {"stack", "stack-roof", "shed"}:
        topics.add("leaning")
    if "stack" in kinds:
        topics.add("tarp")
    if kinds & {"dry-room", "workshop"}:
        topics.add("heater")
    if answer.traces.end.stack.cuts:
        topics.add("mould")
    if answer.board.thickness_mm >= TIMBER_MM:
        topics.add("structural")
    risks = worst(answer.risks)
    if "mould" in risks and risks["mould"].level in ("high", "severe"):
        topics.add("mould")
    return cautions(topics)


def dry_text(
    answer: Dry,
    sentences: Sequence[str],
    rests_on: Sequence[str],
    system: UnitSystem,
) -> str:
    """Lay out the whole answer for a person."""
    parts = [wrapped(line) for line in sentences[:1]]
    parts += ["", *_table(answer), ""]
    parts += [wrapped(line) for line in sentences[1:]]
    dangers = danger_lines(answer)
    if dangers:
        parts += [
            "",
            "What could spoil it (one forecast in four is as bad as this, or worse):",
        ]
        parts += [wrapped(line) for line in dangers]
    parts.append("")
    if {s.kind for s, _ in answer.route} & set(FLOORS):
        parts.append(wrapped(_weight(answer, system)))
    parts.append(
        wrapped(SPREADS[0].format(years=len(answer.years)))
        if answer.many_years
        else wrapped(SPREADS[1])
    )
    if answer.traces.actual_to > answer.begun:
        parts.append(
            wrapped(
                f"Up to {spoken(answer.traces.actual_to)} with the weather there was."
            )
        )
    parts += [wrapped(line) for line in rests_on]
    return "\n".join(parts)


def _table(answer: Dry) -> list[str]:
    heads = (
        ("lucky weather", "middle", "cautious")
        if answer.many_years
        else ("quick wood", "middle", "cautious")
    )
    lines = [
        " " * 9 + "".join(f"{head:<15}" for head in heads) + "shell  core  get there",
    ]
    for step in sorted(
        {s.mc: s for s in (*answer.steps, answer.target)}.values(), key=lambda s: -s.mc
    ):
        dates = "".join(
            f"{'not reached' if d is None else short(d):<15}"
            for d in (step.p10, step.p50, step.p90)
        )
        inside = (
            f"{step.shell:5.0f}{step.core:6.0f}"
            if step.shell is not None and step.core is not None
            else f"{'-':>5}{'-':>6}"
        )
        share = f"{100.0 * step.fraction_reached:.0f} in 100"
        lines.append(f"to {step.mc:2g} %  {dates}{inside}  {share:>10}".rstrip())
    return lines


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
    return (
        f"Each layer weighs {now:.1f} {unit} as stacked and {dry:.1f} at "
        f"{answer.target.mc:g} %, without stickers: see `emcforecast weight`."
    )


def dry_rows(answer: Dry) -> list[dict[str, Any]]:
    """Return the forecast day by day; % of oven-dry mass."""
    traces = answer.traces
    mean = bands(traces.mean, traces.weight)
    shell, core, rest = (
        bands(path, traces.weight, [0.5])[0]
        for path in (traces.shell, traces.core, answer.rest.path)
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
    rest = answer.rest
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
        "actual_weather_until": answer.traces.actual_to
        if answer.traces.actual_to > answer.begun
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
        "risks": [
            {
                "risk": d.risk,
                "level": d.level,
                "from": d.start,
                "to": d.end - 1,
                "reason": d.reason,
                "advice": d.advice,
            }
            for d in answer.dangers
        ],
        "risks_by_week": [
            {"week": w.week, "risk": w.risk, "level": w.level, "reason": w.reason}
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


def places(answer: Dry) -> str:
    """Name the places of the route: "roofed stack and ventilated barn loft"."""
    return listed([KINDS[s.kind].title for s, _ in answer.route])
