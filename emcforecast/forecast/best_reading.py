"""Which reading would tell most about the ready date, when the forecast cannot."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.evidence import WET_FROM, Reading, expected, log_likelihood
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import Trajectories

AHEAD_DAYS, STEP_DAYS = 364, 7
"""How far ahead readings are tried, and how far apart."""
OUTCOMES = 24
"""Outcomes of each reading that are tried."""
READABLE = 28.0
"""The middle expectation must lie below this for a meter to tell anything, % MC."""
NEARLY = 1.1
"""The earliest reading is chosen whose gain is within this of the best."""
CANNOT_TELL_DAYS, CANNOT_TELL_SHARE = 90, 0.5
"""A date is not told closer than this, if that is this share of the wait or more."""


@dataclass(frozen=True)
class Settling:
    """The reading that would settle most.

    Parameters
    ----------
    day : datetime64[D]
        When to take it.
    part : {"mean", "core"}
        What to read.
    expected : float
        What the forecast expects, middle, % of oven-dry mass.
    range_now, range_then : int
        Days between the early and the late date, without it and, in the mean over
        what it may say, with it.
    """

    day: np.datetime64
    part: Literal["mean", "core"]
    expected: float
    range_now: int
    range_then: int


def cannot_tell(runs: Trajectories, mc: float, today: np.datetime64) -> bool:
    """Say whether the date of a moisture content is too uncertain to act on.

    Parameters
    ----------
    runs : Trajectories
        The forecast.
    mc : float
        % of oven-dry mass.
    today : datetime64[D]
        From when one waits.

    Returns
    -------
    bool
        Never for what is surely reached already, or surely not at all.
    """
    days = _days(runs, mc)
    p10, p50, p90 = quantiles(days, runs.weight)
    now = max(int((today - runs.begun).astype(np.int64)), 0)
    if p10 > runs.days or p90 <= now:
        return False
    wait = max(p50 - now, 1.0)
    return p90 - p10 > max(CANNOT_TELL_DAYS, CANNOT_TELL_SHARE * wait)


def best_reading(
    runs: Trajectories, mc: float, today: np.datetime64
) -> Settling | None:
    """Find the reading whose outcome most narrows the date of a moisture content.

    Parameters
    ----------
    runs : Trajectories
        The forecast.
    mc : float
        % of oven-dry mass.
    today : datetime64[D]
        Readings are taken from here on.

    Returns
    -------
    Settling or None
        None where no reading that a meter can give would help.

    Notes
    -----
    For every week to come, the mean of the board and its core are tried: each of some
    outcomes, as the runs have them, weighs the runs, and the range between the
    lucky and the cautious date that is left is averaged over the outcomes.
    """
    days = _days(runs, mc)
    p10, _, p90 = quantiles(days, runs.weight)
    now = max(int((today - runs.begun).astype(np.int64)), 0)
    order = np.argsort(days, kind="stable")
    share = np.cumsum(runs.weight[order])
    at = (np.arange(OUTCOMES) + 0.5) / OUTCOMES
    outcomes = order[np.minimum(np.searchsorted(share, at), order.size - 1)]
    tried: list[tuple[float, int, Settling]] = []
    for day in range(now, min(now + AHEAD_DAYS, runs.days, int(p90)) + 1, STEP_DAYS):
        for part in ("mean", "core"):
            left = _left(runs, days, outcomes, day, part)
            if left is not None:
                spread, middle = left
                when = runs.begun + np.timedelta64(day, "D")
                one = Settling(
                    when, part, middle, round(p90 - p10), round(spread)
                )  # fmt: skip
                tried.append((spread, day, one))
    if not tried:
        return None
    least = min(spread for spread, _, _ in tried)
    if least >= 0.9 * (p90 - p10):
        return None
    near = [one for one in tried if one[0] <= NEARLY * least]
    return min(near, key=lambda one: (one[1], one[0]))[2]


def _days(runs: Trajectories, mc: float) -> FloatArray:
    """Days to a content; a trace that does not get there takes a year more than all."""
    days = runs.first_below(mc)
    return np.where(np.isfinite(days), days, runs.days + 365.0)


def _left(
    runs: Trajectories,
    days: FloatArray,
    outcomes: NDArray[np.int64],
    day: int,
    part: Literal["mean", "core"],
) -> tuple[float, float] | None:
    """Return the mean range of the date after a reading, and what it should read."""
    when = runs.begun + np.timedelta64(day, "D")
    there = expected(runs, Reading(when, None, part))
    middle = quantiles(there, runs.weight, [0.5])[0]
    if middle > READABLE:
        return None
    spreads = []
    for outcome in outcomes:
        reading = Reading(when, float(min(there[outcome], WET_FROM)), part)
        weight = runs.weight * np.exp(log_likelihood(there, reading))
        low, top = quantiles(days, weight / weight.sum(), [0.1, 0.9])
        spreads.append(top - low)
    return float(np.mean(spreads)), middle
