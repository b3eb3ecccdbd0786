"""The sentences of `dry`: what a person can act on, the answer first."""

import numpy as np

from emcforecast.dates import MONTHS
from emcforecast.ensemble.equilibrium import SETTLED
from emcforecast.ensemble.percentiles import Reached
from emcforecast.forecast.dry import Dry
from emcforecast.forecast.plan.success import rain_unknown
from emcforecast.report.dates import part_of, span, spoken
from emcforecast.report.updates import outlier_words, update_sentence
from emcforecast.report.words import sentence
from emcforecast.units import UnitSystem

NEVER_RAINED_ON = ", were it never rained on (the weather tells of no rain)"
RAIN_WOULD = (
    "Rain would keep this stack wetter and later, in damp country seldom below about "
    "20 %: give weather with rain, or ask for the roofed stack "
    "(--setting outdoor=stack-roof)."
)
FURNITURE = 9.0
"""Furniture wants 7 to 9 % (published targets)."""
WORTH_READING = 0.8
"""A reading is worth asking for that leaves this share of the range or less."""
WET_CORE = 3.0
"""Core over mean, % MC, at which the core is worth a warning."""
THICK_MM = 40.0


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
    said = [f"{_unheard(answer)}{_lead(answer, system)}", _heard(answer)]
    said += [RAIN_WOULD if _unless_rained_on(answer) else ""]
    said += [_rest(answer), _furniture(answer)]
    said += [_settling(answer), _core(answer), _rule(answer), _recent(answer)]
    said += [_other(board.size.label(system), goal) for board, goal in answer.others]
    return [line for line in said if line]


def _lead(answer: Dry, system: UnitSystem) -> str:
    size = answer.board.size.label(system)
    where = " and then the ".join(s.about.title for s, _ in answer.route)
    start = (
        f"{spoken(answer.begun)}: {size} {answer.board.species} from "
        f"{answer.start_mc:.0f} %, {where}{_unless_rained_on(answer)}."
    )
    goal, twenty = answer.target, answer.steps[-1]
    if goal.p50 is not None and goal.p90 is not None:
        if goal.p50 == answer.begun == goal.p90:
            return f"{start} It is below {goal.mc:g} % already."
        return (
            f"{start} Likely at {goal.mc:g} % by {spoken(goal.p50)}; to be sure, count "
            f"on {spoken(goal.p90)}."
        )
    until = f"within the {span(answer.runs.days)} looked at"
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


def _unless_rained_on(answer: Dry) -> str:
    """Say so where an uncovered stack is reckoned as if no rain fell."""
    places = answer.runs.ensemble.air.places
    unknown = any(
        rain_unknown(answer.runs.ensemble.air, places.index(setting))
        for setting, _ in answer.route
    )
    return NEVER_RAINED_ON if unknown else ""


def _share(goal: Reached) -> str:
    if goal.fraction_reached <= 0.0:
        return "none of the forecasts"
    return f"{100.0 * goal.fraction_reached:.0f} in 100 of the forecasts"


def _unheard(answer: Dry) -> str:
    """Say why not one reading was used, before all else."""
    if answer.update is None or answer.update.used:
        return ""
    outliers = answer.update.outliers
    which = "The reading is" if len(outliers) == 1 else "The readings are"
    why = " ".join(sentence(outlier_words(one)) for one in outliers)
    return f"{which} not used. {why} So the forecast stays. "


def _heard(answer: Dry) -> str:
    """Say what the readings did to the forecast."""
    if answer.update is None or not answer.update.used:
        return ""
    return sentence(update_sentence(answer.update, answer.target.mc))


def _rest(answer: Dry) -> str:
    rest = answer.equilibrium
    seasons = (
        f"between {rest.low:.1f} % (usually in {MONTHS[rest.month - 1]}) and "
        f"{rest.high:.1f} %"
    )
    if answer.no_gain_after is None:
        return (
            f"It does not come to rest within {span(answer.runs.days)}; dry boards "
            f"there lie {seasons}."
        )
    return (
        f"After {part_of(answer.no_gain_after)} waiting gains nothing: it is then "
        f"within {SETTLED:g} % of wood that has lain there for years and only follows "
        f"the seasons, {seasons}.{_later(answer)}"
    )


def _later(answer: Dry) -> str:
    """Say why a date of the table may come after waiting has stopped to gain."""
    rest, settled = answer.equilibrium, answer.no_gain_after
    if settled is None:
        return ""
    steps = (*answer.steps, answer.target)
    middle = [s.mc for s in steps if s.p50 is not None and _after(s.p50, settled)]
    if middle:
        mc = answer.target.mc if answer.target.mc in middle else middle[-1]
        if rest.low <= mc <= rest.high:
            return (
                f" {mc:g} % lies within that swing: it comes with a dry season, "
                "not with waiting, and goes with the next damp one."
            )
        return (
            f" The last of it, down to {mc:g} %, takes longer, but a meter hardly "
            "tells the difference."
        )
    there = [s.p90 for s in steps if s.p50 is not None]
    if any(day is None or _after(day, settled) for day in there):
        return " That is the middle forecast; the cautious one takes longer."
    return ""


def _after(day: np.datetime64, settled: np.datetime64) -> bool:
    """Tell whether a day is after another as these are spoken of."""
    return bool(day > settled) and part_of(day) != part_of(settled)


def _furniture(answer: Dry) -> str:
    """Say whether furniture moisture is to be had here, and when."""
    rest, place = answer.equilibrium, answer.route[-1][0].about.title
    low, middle, high = rest.lowest
    dry_wood = (
        f"dry wood there gets down to {middle:.1f} % ({low:.1f} to {high:.1f})"
        f"{_unless_rained_on(answer)}"
    )
    if low > FURNITURE:
        return (
            f"Furniture (7 to 9 %) is out of reach in the {place}: {dry_wood}, so "
            "finish it indoors."
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
