"""The words, table and rows of `hindcast`."""

from dataclasses import asdict
from typing import Any

from emcforecast import tables
from emcforecast.forecast.hindcast_scores import Hindcast, Score
from emcforecast.language import N_, _, number
from emcforecast.report.names import place_title
from emcforecast.report.words import in_hundred, is_narrow, wrapped
from emcforecast.storage.kinds import KINDS

LEGEND = N_(
    "Holds: truths between the low and the high value. Error: average miss of the "
    "middle value; bias: forecast less truth. CRPS: miss of the whole range; against: "
    "that of guessing from the month alone, for dates of a year per inch. Skill: 1 "
    "perfect, 0 no better than the guess."
)
ALL_MOISTURES = N_("all moistures")
TESTED = N_(
    "The truth is a stack in the left-out year whose wood, green moisture and "
    "place are drawn afresh: this tests the ranges, not the board model, which "
    "made the truth as well."
)
PROMISED, CLOSE = 80, 2
"""Truths in 100 that P10 to P90 promises to hold, and how near that is kept."""
DOCUMENTED = N_(
    "{place}: of {cases} moistures forecast from the other years, {held} in 100 came "
    "within their range; 80 are promised. The middle date for 20 % was out by "
    "{date_error_days} days on average; a year per inch by {rule_error_days}."
)
HONEST = (0.7, 0.9)
"""Coverage of P10 to P90 that passes for honest; 0.8 is what it promises."""


def hindcast_sentences(answer: Hindcast) -> list[str]:
    """Say how far such forecasts could have been trusted.

    Parameters
    ----------
    answer : Hindcast
        What `hindcast` found.

    Returns
    -------
    list of str
        Whole sentences.
    """
    whole = answer.whole
    said = [
        _(
            "Of {cases} moistures forecast from the other years, {share} came within "
            "their range; 80 are promised. {verdict}",
            cases=whole.cases,
            share=in_hundred(whole.coverage),
            verdict=_verdict(whole),
        ),
        _(
            "Against guessing the usual moisture of the month the forecasts are "
            "{skill:.0f} % better: they miss by {miss:.2f} % MC, the guess by "
            "{guess:.2f} (CRPS, the miss of a whole range).",
            skill=100.0 * whole.skill,
            miss=whole.crps,
            guess=whole.reference,
        ),
    ]
    for date in answer.dates:
        said.append(
            _(
                "The middle date for {mc} was out by {error:.0f} days on average; a "
                "year per inch by {rule:.0f}.",
                mc=date.what.removeprefix("days to "),
                error=date.error,
                rule=date.reference,
            )
        )
    if len(answer.years) < 5:
        said.append(
            _(
                "Only {years} weather years: each is forecast from {others}, so take "
                "the numbers loosely.",
                years=len(answer.years),
                others=len(answer.years) - 1,
            )
        )
    return said


def hindcast_documented() -> list[str]:
    """Say how good such forecasts were where it was tried and written down.

    Returns
    -------
    list of str
        One sentence a place, of the packaged table `hindcast_found.csv`.
    """
    return [_(DOCUMENTED, **row) for row in tables.rows("hindcast_found.csv")]


def _verdict(score: Score) -> str:
    low, high = HONEST
    share = round(100.0 * score.coverage)
    if score.coverage < low:
        return _("The ranges are too narrow here: allow for more.")
    if score.coverage > high:
        return _("The ranges are wider than they need be here.")
    if share < PROMISED - CLOSE:
        return _("The ranges are slightly too narrow.")
    if share > PROMISED + CLOSE:
        return _("The ranges are slightly too wide.")
    return _("The ranges are as wide as they should be.")


def hindcast_text(answer: Hindcast, sentences: list[str], based_on: list[str]) -> str:
    """Lay out the whole answer for a person."""
    parts = [wrapped(line) for line in sentences]
    parts += ["", *hindcast_table(answer), ""]
    parts.append(wrapped(_(TESTED)))
    parts += [wrapped(line) for line in based_on]
    return "\n".join(parts)


def hindcast_table(answer: Hindcast) -> list[str]:
    """Return the table's lines, 80 columns wide at most; a list on a phone."""
    if is_narrow():
        scores = [*answer.moisture, answer.whole, *answer.by_setting.values()]
        lines = [_("moisture, % MC"), *(_tall(score, 2) for score in scores)]
        if answer.dates:
            lines += [_("dates, days"), *(_tall(score, 0) for score in answer.dates)]
        return [*lines, *wrapped(_(LEGEND)).splitlines()]
    heads = (_("cases"), "P10-P90", _("error"), _("bias"), "CRPS", _("against"))
    letters = (6, 9, 8, 8, 7, 9)
    head = "".join(f"{one:>{wide}}" for one, wide in zip(heads, letters, strict=True))
    lines = [" " * 22 + head + _("skill").rjust(7)]
    lines.append(_("moisture, % MC").ljust(28) + _("holds").rjust(9))
    lines += [_row(score, 2) for score in answer.moisture]
    lines += [_row(answer.whole, 2)]
    lines += [_row(score, 2) for score in answer.by_setting.values()]
    if answer.dates:
        lines.append(_("dates, days"))
        lines += [_row(score, 0) for score in answer.dates]
    lines += wrapped(_(LEGEND)).splitlines()
    return lines


def _tall(score: Score, digits: int) -> str:
    """Lay one score out for a phone."""
    form = f".{digits}f"
    cases = _("{what}, {cases} cases", what=score_name(score), cases=score.cases)
    misses = _(
        "holds {share:.0f} %, error {error}, bias {bias}",
        share=100 * score.coverage,
        error=number(score.error, form),
        bias=number(score.bias, f"+{form}"),
    )
    skill = _(
        "CRPS {miss} against {guess}, skill {skill:.2f}",
        miss=number(score.crps, form),
        guess=number(score.reference, form),
        skill=score.skill,
    )
    return f"  {cases}\n    {misses}\n    {skill}"


def _row(score: Score, digits: int) -> str:
    numbers = (
        (score.error, f"8.{digits}f"),
        (score.bias, f"+8.{digits}f"),
        (score.crps, f"7.{digits}f"),
        (score.reference, f"9.{digits}f"),
        (score.skill, "7.2f"),
    )
    return (
        f"  {score_name(score):<20}{score.cases:6d}{100 * score.coverage:7.0f} %"
        + "".join(number(value, form) for value, form in numbers)
    )


_SCORES = (N_("{number} days ahead"), N_("days to {number}"))


def score_name(score: Score) -> str:
    """Name what a score is of: "after 90 days", "days to 20 %", or a place."""
    what = score.what
    if what == ALL_MOISTURES:
        return _(ALL_MOISTURES)
    for kind in KINDS.values():
        if what == kind.title:
            return place_title(kind.name)
    for form in _SCORES:
        lead, _field, tail = form.partition("{number}")
        if what.startswith(lead) and what.endswith(tail):
            return _(form, number=what.removeprefix(lead).removesuffix(tail))
    return what


def hindcast_rows(answer: Hindcast) -> list[dict[str, Any]]:
    """Return every score as a row."""
    groups = {
        "by days ahead": answer.moisture,
        "all": (answer.whole,),
        "by setting": tuple(answer.by_setting.values()),
        "by stacking date": tuple(answer.by_start.values()),
        "dates": answer.dates,
    }
    return [
        {"group": group, **asdict(score), "skill": score.skill}
        for group, scores in groups.items()
        for score in scores
    ]


def hindcast_result(answer: Hindcast, sentences: list[str]) -> dict[str, Any]:
    """Return the JSON result; the first keys are of all moistures together."""
    whole = answer.whole
    return {
        "cases": whole.cases,
        "coverage_p10_p90": whole.coverage,
        "crps": whole.crps,
        "crps_climatology": whole.reference,
        "skill": whole.skill,
        "scores": [
            {
                "group": row["group"],
                "what": row["what"],
                "unit": row["unit"],
                "cases": row["cases"],
                "coverage_p10_p90": row["coverage"],
                "error": row["error"],
                "bias": row["bias"],
                "crps": row["crps"],
                "crps_climatology" if row["unit"] == "% MC" else "rule_error": row[
                    "reference"
                ],
                "skill": row["skill"],
            }
            for row in hindcast_rows(answer)
        ],
        "years": answer.years,
        "target": answer.target,
        "sentences": sentences,
    }
