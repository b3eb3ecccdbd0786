"""A risk of one week in words: how bad, why, and what to do."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from emcforecast._types import TimeArray
from emcforecast.errors import InputError

Level = Literal["low", "moderate", "high", "severe", "unknown"]
LEVELS: tuple[Level, ...] = ("unknown", "low", "moderate", "high", "severe")
"""From the least to the most pressing."""


_WEEK = np.timedelta64(7, "D")


@dataclass(frozen=True)
class RiskWeek:
    """One risk in one week.

    Parameters
    ----------
    week : date
        First day of the week.
    risk : str
        "surface checks", "stain", "mould", "decay", "insects",
        "rain on half-dry wood" or "regain".
    level : {"low", "moderate", "high", "severe", "unknown"}
        How pressing it is; "unknown" where nothing is published.
    reason : str
        Why, with the number it rests on.
    advice : str
        What to do; empty when nothing needs doing.
    measure : float
        The number behind the level, in the unit the reason tells.
    """

    week: date
    risk: str
    level: Level
    reason: str
    advice: str
    measure: float


def level_of(measure: float, limits: tuple[float, float, float]) -> Level:
    """Return the level of a measure, given where moderate, high and severe begin.

    Examples
    --------
    >>> level_of(0.7, (0.6, 1.0, 1.5))
    'moderate'
    """
    if not np.isfinite(measure):
        return "unknown"
    rank = sum(measure >= limit for limit in limits)
    return LEVELS[1 + rank]


def step_hours(time: TimeArray) -> float:
    """Return the regular step of a series in hours.

    Parameters
    ----------
    time : array of datetime64, shape (n,)

    Returns
    -------
    float

    Raises
    ------
    InputError
        With fewer than two times, an uneven step, or one longer than a day.
    """
    if time.size < 2:
        raise InputError("a risk needs at least two times. Give an hourly series.")
    steps = np.diff(time) / np.timedelta64(1, "h")
    if not np.allclose(steps, steps[0]) or not 0.0 < steps[0] <= 24.0:
        raise InputError(
            "the times of a risk must be even and at most a day apart. Give an hourly "
            "series."
        )
    return float(steps[0])


def weeks(time: TimeArray) -> Iterator[tuple[date, slice]]:
    """Yield each week's first day and where it lies in the series.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
        Sorted; weeks are counted from the first one.

    Yields
    ------
    (date, slice)
        The last week may be shorter.
    """
    number = (time - time[0]) // _WEEK
    starts = np.flatnonzero(np.diff(number, prepend=-1))
    ends = [*starts[1:].tolist(), time.size]
    for start, end in zip(starts.tolist(), ends, strict=True):
        yield time[start].astype("datetime64[D]").item(), slice(start, end)


def worst(risks: tuple[RiskWeek, ...]) -> dict[str, RiskWeek]:
    """Return the most pressing week of each risk, the earliest where they tie."""
    found: dict[str, RiskWeek] = {}
    for one in risks:
        best = found.get(one.risk)
        if best is None or LEVELS.index(one.level) > LEVELS.index(best.level):
            found[one.risk] = one
    return found
