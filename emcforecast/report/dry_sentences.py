"""The sentences of `dry`: what a person can act on, the answer first."""

import numpy as np

from emcforecast.dates import month
from emcforecast.ensemble.percentiles import Reached
from emcforecast.forecast.dry_result import Dry
from emcforecast.language import N_, _, n_
from emcforecast.report.boards import board_words
from emcforecast.report.dates import part_of, span, spoken
from emcforecast.report.dry_outlook import (
    FINISH,
    TEST_CORE,
    core_sentence,
    drawn_without_rain,
    furniture_sentence,
    reading_sentence,
    recent_sentence,
    rule_sentence,
)
from emcforecast.report.names import place_title, wood_name
from emcforecast.report.updates import outlier_words, update_sentence
from emcforecast.report.words import in_hundred, listed, sentence
from emcforecast.units import UnitSystem, format_length
from emcforecast.wood.board import Board

RAIN_WOULD = N_(
    "Rain would keep this stack wetter and later, in damp country seldom below about "
    "20 %: give weather with rain, or ask for the roofed stack "
    "(--setting outdoor=stack-roof)."
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
    said = first_sentences(answer, system) + more_sentences(answer)
    return [line for line in said if line]


def first_sentences(answer: Dry, system: UnitSystem) -> list[str]:
    """Say the answer, what the readings did, what stays possible, what to read next.

    Parameters as for `dry_sentences`; the first of them is the answer.
    """
    said = [_lead(answer, system), _heard(answer)]
    if unheard := _unheard(answer):
        said[0] = f"{unheard} {said[0]}"
    said += [_cut(answer, system)]
    said += [_(RAIN_WOULD) if drawn_without_rain(answer) else ""]
    core = _(TEST_CORE) if core_sentence(answer) else ""
    said += [_settled(answer), core, reading_sentence(answer)]
    mixed = len({board.wood.name for board, _goal in _all_boards(answer)}) > 1
    said += [_other(board, goal, system, mixed) for board, goal in answer.others]
    return [line for line in said if line]


def more_sentences(answer: Dry) -> list[str]:
    """Say what is behind --more: furniture here, the core, the rule, recent years."""
    said = [
        furniture_sentence(answer),
        core_sentence(answer),
        rule_sentence(answer),
        recent_sentence(answer),
    ]
    return [line for line in said if line]


def _cut(answer: Dry, system: UnitSystem) -> str:
    """Say what is cut, when, and that every later date is of the thinner boards."""
    said = [
        _(
            N_("resawn to {thickness} on {date}")
            if cut.how == "resaw"
            else N_("planed to {thickness} on {date}"),
            thickness=format_length(cut.thickness_mm, system),
            date=spoken(cut.day),
        )
        for cut in answer.runs.stack.cuts
    ]
    if not said:
        return ""
    return _(
        "The boards are {cut}: later dates are of the thinner boards.", cut=listed(said)
    )


def _lead(answer: Dry, system: UnitSystem) -> str:
    return f"{_start(answer, system)} {_reached(answer)}"


def _start(answer: Dry, system: UnitSystem) -> str:
    """Say what is stacked when, how wet and where."""
    kinds = [setting.kind for setting, _day in answer.route]
    where = place_title(kinds[0])
    for kind in kinds[1:]:
        where = _(
            "{first} and then the {place}",
            first=where,
            place=place_title(kind),
        )
    return _(
        N_(
            "{date}: {board} from {mc:.0f} %, {place}, if no rain falls on it (the "
            "weather has no rain)."
        )
        if drawn_without_rain(answer)
        else N_("{date}: {board} from {mc:.0f} %, {place}."),
        date=spoken(answer.begun),
        board=board_words(answer.board, system),
        mc=answer.start_mc,
        place=where,
    )


def _reached(answer: Dry) -> str:
    """Say when the target is reached, or that it is not to be counted on."""
    goal, twenty = answer.target, answer.steps[-1]
    if goal.p50 is not None and goal.p90 is not None:
        if goal.p50 == answer.begun == goal.p90:
            return _("It is below {mc:g} % already.", mc=goal.mc)
        return _(
            "It reaches {mc:g} % about {date}, late {late}.",
            mc=goal.mc,
            date=spoken(goal.p50),
            late=spoken(goal.p90),
        )
    until = span(answer.runs.days)
    if goal.p50 is not None:
        return _(
            "It may reach {mc:g} % about {date}, but do not count on it: only {share} "
            "reach it within the {span} looked at.",
            mc=goal.mc,
            date=spoken(goal.p50),
            share=_share(goal),
            span=until,
        )
    said = [
        _(
            "Do not expect {mc:g} % here: {share} reach it within the {span} looked "
            "at.",
            mc=goal.mc,
            share=_share(goal),
            span=until,
        )
    ]
    if twenty.p50 is not None and goal.mc < twenty.mc:
        said.append(_("20 % comes by {date}.", date=spoken(twenty.p50)))
    return " ".join([*said, _(FINISH)])


def _share(goal: Reached) -> str:
    if goal.fraction_reached <= 0.0:
        return _("none of the forecasts")
    return _("{share} of the forecasts", share=in_hundred(goal.fraction_reached))


def _unheard(answer: Dry) -> str:
    """Say why not one reading was used, before all else."""
    if answer.update is None or answer.update.used:
        return ""
    outliers = answer.update.outliers
    return n_(
        "The reading is not used. {why} So the forecast stays.",
        "The readings are not used. {why} So the forecast stays.",
        len(outliers) or 2,
        why=" ".join(sentence(outlier_words(one)) for one in outliers),
    )


def _heard(answer: Dry) -> str:
    """Say what the readings did to the forecast."""
    if answer.update is None or not answer.update.used:
        return ""
    return sentence(update_sentence(answer.update, answer.target.mc))


def _settled(answer: Dry) -> str:
    """Say when waiting gains nothing more, and the seasons' range of dry wood there."""
    rest = answer.equilibrium
    seasons = _(
        N_("between {low:.0f} % (mostly {month}) and {high:.0f} %")
        if answer.many_years
        else N_("between {low:.0f} % ({month}) and {high:.0f} %"),
        low=rest.low,
        month=month(rest.month),
        high=rest.high,
    )
    if answer.no_gain_after is None:
        return _(
            "It does not settle within {span}; dry boards there go up and down "
            "{range}.",
            span=span(answer.runs.days),
            range=seasons,
        )
    said = _(
        "After {part_of_month} waiting gains nothing: it then goes up and down with "
        "the seasons, {range}.",
        part_of_month=part_of(answer.no_gain_after),
        range=seasons,
    )
    return f"{said} {_later(answer)}".strip()


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
            return _(
                "{mc:g} % is within that range: it comes with a dry season and goes "
                "with the next damp one.",
                mc=mc,
            )
        return _(
            "The last of it, down to {mc:g} %, takes longer, but a meter hardly shows "
            "the difference.",
            mc=mc,
        )
    there = [s.p90 for s in steps if s.p50 is not None]
    if any(day is None or _after(day, settled) for day in there):
        return _("That is the likely date; the late one is later.")
    return ""


def _after(day: np.datetime64, settled: np.datetime64) -> bool:
    """Say whether a day is after another as these are spoken of."""
    return bool(day > settled) and part_of(day) != part_of(settled)


def _all_boards(answer: Dry) -> tuple[tuple[Board, Reached], ...]:
    """Return the boards that govern, then the others, with their target."""
    return (answer.board, answer.target), *answer.others


def _other(board: Board, goal: Reached, system: UnitSystem, mixed: bool) -> str:
    """Say when quicker boards of the stack are there, by name in a mixed stack."""
    if mixed:
        return _other_wood(board, goal, system)
    size = board.size.label(system)
    if goal.p50 is None:
        return _(
            "The {thickness} boards in it: {mc:g} % not reached; the thickest govern.",
            thickness=size,
            mc=goal.mc,
        )
    return _(
        "The {thickness} boards in it: {mc:g} % by {date}; the thickest govern.",
        thickness=size,
        mc=goal.mc,
        date=spoken(goal.p50),
    )


def _other_wood(board: Board, goal: Reached, system: UnitSystem) -> str:
    """Say when a quicker wood of a mixed stack is there."""
    size, wood = board.size.label(system), wood_name(board.wood.name)
    if goal.p50 is None:
        return _(
            "The {thickness} {wood} in it: {mc:g} % not reached; the slowest wood "
            "governs.",
            thickness=size,
            wood=wood,
            mc=goal.mc,
        )
    return _(
        "The {thickness} {wood} in it: {mc:g} % by {date}; the slowest wood governs.",
        thickness=size,
        wood=wood,
        mc=goal.mc,
        date=spoken(goal.p50),
    )
