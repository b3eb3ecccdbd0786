"""The words and tables of `plan`."""

from datetime import date
from typing import Any

from emcforecast.cautions import CAUTIONS
from emcforecast.forecast.plan import AIRY, SURE, Dates, Leg, Plan
from emcforecast.report.words import listed, wrapped
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem, format_length
from emcforecast.weather.series import MONTHS

LIKELY, UNLIKELY = 0.75, 0.25
GAIN = 0.05
"""A year more must raise the probability by this to be worth telling as a gain."""


def spoken_date(day: date | None, missing: str = "not reached") -> str:
    """Return a date as people say it: "12 October 2026"."""
    if day is None:
        return missing
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def chance_words(probability: float) -> str:
    """Return a probability in words and in years of a hundred.

    Examples
    --------
    >>> chance_words(0.88)
    'likely, 88 years in 100'
    """
    word = (
        "very likely"
        if probability >= 0.95
        else "likely"
        if probability >= LIKELY
        else "very unlikely"
        if probability <= 0.05
        else "unlikely"
        if probability <= UNLIKELY
        else "uncertain"
    )
    return f"{word}, {100 * probability:.0f} years in 100"


def plan_sentences(found: Plan) -> list[str]:
    """Say whether it will be ready, by when to bring it in, and what waiting gains."""
    lines = [
        f"Ready for {found.target.words} by {spoken_date(found.need)}: "
        f"{chance_words(found.probability_by_need)}."
    ]
    if len(found.route) > 1:
        place = KINDS[found.route[-1].kind].title
        lines.append(_bring_in(found, place))
    lines.append(_ready(found))
    if found.next_good is not None and found.probability_by_need < SURE:
        day, chance = found.next_good
        lines.append(
            f"By the same route it would be fit on {spoken_date(day)}: "
            f"{chance_words(chance)}."
        )
    lines.append(_waiting(found))
    return [line for line in lines if line]


def _bring_in(found: Plan, place: str) -> str:
    if found.bring_in_by is not None:
        even = (
            f", by {spoken_date(found.bring_in_even)} for an even chance"
            if found.bring_in_even and found.bring_in_even != found.bring_in_by
            else ""
        )
        return (
            f"Move it into the {place} by {spoken_date(found.bring_in_by)} to be "
            f"90 % sure{even}."
        )
    if found.bring_in_even is not None:
        return (
            f"No date makes it 90 % sure; into the {place} by "
            f"{spoken_date(found.bring_in_even)} gives an even chance."
        )
    return (
        f"No date of moving it into the {place} gives an even chance; the best is "
        f"{spoken_date(found.route[-1].start)}."
    )


def _ready(found: Plan) -> str:
    ready = found.ready
    if ready.p50 is None:
        return (
            f"In a middling year it does not get there: about "
            f"{found.moisture_by_need:.1f} % of oven-dry mass on the need date."
        )
    latest = spoken_date(ready.p90, "not within the time looked at")
    days = found.acclimate_days[0]
    took = f", about {days:.0f} days after coming in" if days is not None else ""
    return (
        f"It is first ready about {spoken_date(ready.p50)}{took} "
        f"({spoken_date(ready.p10)} in lucky weather, {latest} in cautious). "
        "Below 20 % little is validated in public: it may take twice as long."
    )


def _waiting(found: Plan) -> str:
    gain = found.another_year - found.probability_by_need
    if gain > GAIN:
        return (
            f"If it could wait a year longer: {chance_words(found.another_year)} "
            "instead."
        )
    return "Waiting another year gains nothing here: it only follows the seasons."


def plan_text(
    found: Plan, risks: list[str], rests_on: list[str], system: UnitSystem
) -> str:
    """Lay out the whole answer: sentences, route, each place alone, risks."""
    board = f"{format_length(found.board.thickness_mm, system)} {found.board.species}"
    parts = [wrapped(line) for line in plan_sentences(found)]
    parts += ["", f"Route for {board}, stacked {spoken_date(found.stacked)}"]
    parts += [_leg(leg) for leg in found.route]
    parts.append(
        f"{spoken_date(found.need):<18}needed; then about "
        f"{found.moisture_by_need:.1f} % in a middling year"
    )
    parts += ["", "Left in one place the whole time, ready by then"]
    for name, chance in found.feasible.items():
        bar = f" (not advised: {found.alone[name]})" if name in found.alone else ""
        parts.append(wrapped(f"{name:<9}{100 * chance:3.0f} years in 100{bar}"))
    if risks:
        parts += ["", "Mind", *(wrapped(f"- {risk}") for risk in risks)]
    return "\n".join([*parts, "", *(wrapped(line) for line in rests_on)])


def _leg(leg: Leg) -> str:
    return f"{spoken_date(leg.start):<18}{KINDS[leg.kind].title:<22}{leg.why}"


def plan_risks(found: Plan) -> list[str]:
    """Name what can go wrong with each stay and move, with what to do."""
    risks = []
    green = found.route[0]
    if green.kind == "stack":
        risks.append(
            "An uncovered stack is rewetted by every rain: cover the top and let the "
            "sides breathe."
        )
    if green.start.month in range(4, 10) and green.kind in AIRY:
        risks.append(
            "Green wood stacked in warm months: watch for surface and end checks in "
            "dry wind, stain in damp heat; seal the ends, shade the stack."
        )
    for before, after in zip(found.route, found.route[1:], strict=False):
        mc = before.moisture_at_end
        if mc is not None and mc > 18 and after.kind not in AIRY:
            risks.append(
                f"Still about {mc:.0f} % when it goes into the "
                f"{KINDS[after.kind].title}: keep the stickers in, warm it slowly and "
                "watch the core."
            )
    if found.route[-1].kind not in AIRY and found.moisture_by_need > found.target.high:
        risks.append(
            "The room itself is damper than the target when the wood is needed: dry "
            "the room, or take another date."
        )
    if found.board.thickness_mm >= 45:
        risks.append("Thick stock: judge it by its core, never by one number.")
    return risks


def plan_cautions(found: Plan) -> list[str]:
    """Return the safety lines that apply."""
    kinds = {leg.kind for leg in found.route}
    lines = []
    if kinds & {"loft", "attic"}:
        lines.append(CAUTIONS["weight"])
    if kinds & {"dry-room", "workshop"}:
        lines.append(CAUTIONS["heater"])
    return [*lines, "A forecast does not replace a meter."]


def plan_result(found: Plan, risks: list[str]) -> dict[str, Any]:
    """Return the JSON result."""
    return {
        "target": {
            "label": found.target.label,
            "low": found.target.low,
            "high": found.target.high,
            "source": found.target.source,
        },
        "feasible": {
            name: {"probability": chance, "not_advised": found.alone.get(name)}
            for name, chance in found.feasible.items()
        },
        "route": [
            {
                "setting": leg.setting,
                "kind": leg.kind,
                "from": leg.start,
                "to": leg.end,
                "moisture_at_end": leg.moisture_at_end,
                "why": leg.why,
            }
            for leg in found.route
        ],
        "bring_in_by": found.bring_in_by,
        "bring_in_even_chance": found.bring_in_even,
        "acclimate_days": {
            "p50": found.acclimate_days[0],
            "p90": found.acclimate_days[1],
        },
        "ready": _dates(found.ready),
        "probability_by_need": found.probability_by_need,
        "moisture_by_need": found.moisture_by_need,
        "next_good": found.next_good
        and {"date": found.next_good[0], "probability": found.next_good[1]},
        "another_year": {
            "probability": found.another_year,
            "gain": found.another_year - found.probability_by_need,
        },
        "risks": risks,
        "bring_in_curve": [
            {"date": str(day), "probability": float(chance)}
            for day, chance in zip(found.curve_days, found.curve, strict=True)
        ],
        "sentence": plan_sentences(found)[0],
    }


def _dates(value: Dates) -> dict[str, date | None]:
    return {"p10": value.p10, "p50": value.p50, "p90": value.p90}


def plan_rows(found: Plan) -> list[dict[str, Any]]:
    """Return the bring-in curve as rows."""
    return [
        {"date": str(day), "probability": float(chance)}
        for day, chance in zip(found.curve_days, found.curve, strict=True)
    ]


def have_words(kinds: list[str]) -> str:
    """Name some places: "uncovered stack, loft and heated house"."""
    return listed([KINDS[kind].title for kind in kinds])
