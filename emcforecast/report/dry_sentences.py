"""The sentences of `dry`: what a person can act on, the answer first."""

import numpy as np

from emcforecast.dates import MONTHS
from emcforecast.ensemble.percentiles import Reached
from emcforecast.forecast.dry_result import Dry
from emcforecast.forecast.plan.success import rain_unknown
from emcforecast.report.dates import part_of, span, spoken
from emcforecast.report.updates import outlier_words, update_sentence
from emcforecast.report.words import in_hundred, listed, sentence
from emcforecast.units import UnitSystem, format_length

NEVER_RAINED_ON = ", if no rain falls on it (the weather has no rain)"
RAIN_WOULD = (
    "Rain would keep this stack wetter and later, in damp country seldom below about "
    "20 %: give weather with rain, or ask for the roofed stack "
    "(--setting outdoor=stack-roof)."
)
TEST_CORE = "Test the core, not the face."
FINISH = "Finish it indoors: `emcforecast plan` says when to bring it in."
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
    said = first_sentences(answer, system) + more_sentences(answer)
    return [line for line in said if line]


def first_sentences(answer: Dry, system: UnitSystem) -> list[str]:
    """Say the answer, what the readings did, what stays possible, what to read next.

    Parameters as for `dry_sentences`; the first of them is the answer.
    """
    said = [f"{_unheard(answer)}{_lead(answer, system)}", _heard(answer)]
    said += [_cut(answer, system)]
    said += [RAIN_WOULD if _unless_rained_on(answer) else ""]
    said += [_settled(answer), TEST_CORE if _core(answer) else "", _settling(answer)]
    said += [_other(board.size.label(system), goal) for board, goal in answer.others]
    return [line for line in said if line]


def more_sentences(answer: Dry) -> list[str]:
    """Say what is behind --more: furniture here, the core, the rule, recent years."""
    said = [_furniture(answer), _core(answer), _rule(answer), _recent(answer)]
    return [line for line in said if line]


def _cut(answer: Dry, system: UnitSystem) -> str:
    """Say what is cut, when, and that every later date is of the thinner boards."""
    said = [
        f"{'resawn' if cut.how == 'resaw' else 'planed'} to "
        f"{format_length(cut.thickness_mm, system)} on {spoken(cut.day)}"
        for cut in answer.runs.stack.cuts
    ]
    if not said:
        return ""
    return f"The boards are {listed(said)}: later dates are of the thinner boards."


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
            f"{start} It reaches {goal.mc:g} % about {spoken(goal.p50)}, late "
            f"{spoken(goal.p90)}."
        )
    until = f"within the {span(answer.runs.days)} looked at"
    if goal.p50 is not None:
        return (
            f"{start} It may reach {goal.mc:g} % about {spoken(goal.p50)}, but do not "
            f"count on it: only {_share(goal)} reach it {until}."
        )
    also = (
        f" 20 % comes by {spoken(twenty.p50)}."
        if twenty.p50 is not None and goal.mc < twenty.mc
        else ""
    )
    return (
        f"{start} Do not expect {goal.mc:g} % here: {_share(goal)} reach it "
        f"{until}.{also} {FINISH}"
    )


def _unless_rained_on(answer: Dry) -> str:
    """Say so where an uncovered stack is worked out as if no rain fell."""
    places = answer.runs.ensemble.air.places
    unknown = any(
        rain_unknown(answer.runs.ensemble.air, places.index(setting))
        for setting, _ in answer.route
    )
    return NEVER_RAINED_ON if unknown else ""


def _share(goal: Reached) -> str:
    if goal.fraction_reached <= 0.0:
        return "none of the forecasts"
    return f"{in_hundred(goal.fraction_reached)} of the forecasts"


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


def _settled(answer: Dry) -> str:
    """Say when waiting gains nothing more, and the seasons' range of dry wood there."""
    rest = answer.equilibrium
    lowest = MONTHS[rest.month - 1]
    often = f"mostly {lowest}" if answer.many_years else lowest
    seasons = f"between {rest.low:.0f} % ({often}) and {rest.high:.0f} %"
    if answer.no_gain_after is None:
        return (
            f"It does not settle within {span(answer.runs.days)}; dry boards there go "
            f"up and down {seasons}."
        )
    return (
        f"After {part_of(answer.no_gain_after)} waiting gains nothing: it then goes up "
        f"and down with the seasons, {seasons}.{_later(answer)}"
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
                f" {mc:g} % is within that range: it comes with a dry season and goes "
                "with the next damp one."
            )
        return (
            f" The last of it, down to {mc:g} %, takes longer, but a meter hardly "
            "shows the difference."
        )
    there = [s.p90 for s in steps if s.p50 is not None]
    if any(day is None or _after(day, settled) for day in there):
        return " That is the likely date; the late one is later."
    return ""


def _after(day: np.datetime64, settled: np.datetime64) -> bool:
    """Say whether a day is after another as these are spoken of."""
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
        odds = "in most years" if middle <= FURNITURE else "only in the driest"
        return (
            f"Furniture (7 to 9 %) is reached in the {place} {odds}: {dry_wood}, "
            f"mostly in {MONTHS[rest.month - 1]}. Go by a meter, or finish it indoors."
        )
    back = (
        f" It is back at {rest.high:.1f} % in the damp season, so take it from there "
        "in time."
        if rest.high > FURNITURE
        else ""
    )
    return (
        f"Furniture (7 to 9 %) can be had in the {place}: {dry_wood}, mostly in "
        f"{MONTHS[rest.month - 1]}.{back}"
    )


def _settling(answer: Dry) -> str:
    one = answer.settling
    if one is None:
        return ""
    what = "the core" if one.part == "core" else "the average (pins a quarter deep)"
    head = (
        f"The date of {answer.target.mc:g} % is known only to within "
        f"{span(one.range_now)}"
    )
    if one.range_then > WORTH_READING * one.range_now:
        return f"{head}; no single reading narrows that much: read it every month."
    return (
        f"{head}. Read {what} about {spoken(one.day)}, {one.expected:.0f} % is "
        f"expected: it narrows that to {span(one.range_then)}."
    )


def _core(answer: Dry) -> str:
    said = []
    for step in (*answer.steps, answer.target):
        if step.shell is None or step.core is None or step.mc > 20.0:
            continue
        if step.core - step.mc >= WET_CORE or answer.board.thickness_mm >= THICK_MM:
            said.append(
                f"at {step.mc:g} % on average the shell is at {step.shell:.0f} and "
                f"the core still at {step.core:.0f} %"
            )
    if not said:
        return ""
    return sentence("; ".join(dict.fromkeys(said)))


def _rule(answer: Dry) -> str:
    rule = answer.rule
    if rule is None:
        return ""
    head = f'"A year per inch" would say {spoken(rule.date)}: {rule.verdict} here'
    if rule.days_over is None:
        return f"{head}, as it never reaches {rule.against}."
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
