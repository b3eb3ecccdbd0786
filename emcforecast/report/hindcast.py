"""The words, table and rows of `hindcast`."""

from dataclasses import asdict
from typing import Any

from emcforecast import tables
from emcforecast.forecast.hindcast_scores import Hindcast, Score
from emcforecast.report.words import in_hundred, is_narrow, wrapped

LEGEND = (
    "Holds: truths between the low and the high value. Error: average miss of the "
    "middle value; bias: forecast less truth. CRPS: miss of the whole range; against: "
    "that of guessing from the month alone, for dates of a year per inch. Skill: 1 "
    "perfect, 0 no better than the guess."
)
TESTED = (
    "The truth is a stack in the left-out year whose wood, green moisture and "
    "place are drawn afresh: this tests the ranges, not the board model, which "
    "made the truth as well."
)
PROMISED, CLOSE = 80, 2
"""Truths in 100 that P10 to P90 promises to hold, and how near that is kept."""
DOCUMENTED = (
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
        f"Of {whole.cases} moistures forecast from the other years, "
        f"{in_hundred(whole.coverage)} came within their range; 80 are promised. "
        f"{_verdict(whole)}",
        f"Against guessing the usual moisture of the month the forecasts are "
        f"{100.0 * whole.skill:.0f} % better: they miss by {whole.crps:.2f} % MC, the "
        f"guess by {whole.reference:.2f} (CRPS, the miss of a whole range).",
    ]
    for date in answer.dates:
        said.append(
            f"The middle date for {date.what.removeprefix('days to ')} was out by "
            f"{date.error:.0f} days on average; a year per inch by "
            f"{date.reference:.0f}."
        )
    if len(answer.years) < 5:
        said.append(
            f"Only {len(answer.years)} weather years: each is forecast from "
            f"{len(answer.years) - 1}, so take the numbers loosely."
        )
    return said


def hindcast_documented() -> list[str]:
    """Say how good such forecasts were where it was tried and written down.

    Returns
    -------
    list of str
        One sentence a place, of the packaged table `hindcast_found.csv`.
    """
    return [DOCUMENTED.format(**row) for row in tables.rows("hindcast_found.csv")]


def _verdict(score: Score) -> str:
    low, high = HONEST
    share = round(100.0 * score.coverage)
    if score.coverage < low:
        return "The ranges are too narrow here: allow for more."
    if score.coverage > high:
        return "The ranges are wider than they need be here."
    if share < PROMISED - CLOSE:
        return "The ranges are slightly too narrow."
    if share > PROMISED + CLOSE:
        return "The ranges are slightly too wide."
    return "The ranges are as wide as they should be."


def hindcast_text(answer: Hindcast, sentences: list[str], based_on: list[str]) -> str:
    """Lay out the whole answer for a person."""
    parts = [wrapped(line) for line in sentences]
    parts += ["", *hindcast_table(answer), ""]
    parts.append(wrapped(TESTED))
    parts += [wrapped(line) for line in based_on]
    return "\n".join(parts)


def hindcast_table(answer: Hindcast) -> list[str]:
    """Return the table's lines, 80 columns wide at most; a list on a phone."""
    if is_narrow():
        scores = [*answer.moisture, answer.whole, *answer.by_setting.values()]
        lines = ["moisture, % MC", *(_tall(score, 2) for score in scores)]
        if answer.dates:
            lines += ["dates, days", *(_tall(score, 0) for score in answer.dates)]
        return [*lines, *wrapped(LEGEND).splitlines()]
    head = (
        f"{'':<22}{'cases':>6}{'P10-P90':>9}{'error':>8}{'bias':>8}"
        f"{'CRPS':>7}{'against':>9}{'skill':>7}"
    )
    lines = [head, f"{'moisture, % MC':<28}{'holds':>9}"]
    lines += [_row(score, 2) for score in answer.moisture]
    lines += [_row(answer.whole, 2)]
    lines += [_row(score, 2) for score in answer.by_setting.values()]
    if answer.dates:
        lines.append("dates, days")
        lines += [_row(score, 0) for score in answer.dates]
    lines += wrapped(LEGEND).splitlines()
    return lines


def _tall(score: Score, digits: int) -> str:
    """Lay one score out for a phone."""
    return (
        f"  {score.what}, {score.cases} cases\n"
        f"    holds {100 * score.coverage:.0f} %, error {score.error:.{digits}f}, bias "
        f"{score.bias:+.{digits}f}\n"
        f"    CRPS {score.crps:.{digits}f} against {score.reference:.{digits}f}, skill "
        f"{score.skill:.2f}"
    )


def _row(score: Score, digits: int) -> str:
    return (
        f"  {score.what:<20}{score.cases:6d}{100 * score.coverage:7.0f} %"
        f"{score.error:8.{digits}f}{score.bias:+8.{digits}f}{score.crps:7.{digits}f}"
        f"{score.reference:9.{digits}f}{score.skill:7.2f}"
    )


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
