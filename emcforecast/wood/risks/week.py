"""A risk of one week: its level, its cause and what was measured."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from math import isfinite, nan
from typing import Literal

import numpy as np

from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.thickness import Thickness

Level = Literal["low", "moderate", "high", "severe", "unknown"]
LEVELS: tuple[Level, ...] = ("unknown", "low", "moderate", "high", "severe")
"""From the least to the most pressing."""


_WEEK = np.timedelta64(7, "D")


Risk = Literal[
    "surface checks",
    "end checks",
    "honeycomb",
    "collapse",
    "stain",
    "mould",
    "decay",
    "insects",
    "rain on half-dry wood",
    "regain",
]


class Cause(Enum):
    """What decides the level of a risk in a week."""

    PAST_CHECKING = "the board is below the moisture at which it still checks"
    DRYING_RATE = "drying rate beside the safe one"
    DRY_AIR = "a green board in air that dries its faces far ahead"
    ENDS_IN_DRY_AIR = "green inside, in air drier than its ends stand"
    NOT_GREEN = "no longer green inside"
    SEALED_ENDS = "the ends are sealed"
    MILD_AIR = "the air is no drier and no hotter than green wood stands"
    TOO_HOT = "green inside, and hotter than green wood stands"
    DEEP_CHECKS = "severe surface checks in wet wood, which close and stay inside"
    HARDLY_COLLAPSES = "not a wood known to collapse in air drying"
    TOO_DRY = "the wood is too dry"
    DRY_SHELL = "the outside of the board is too dry"
    ADVERSE_AIR = "the air is too cold or too dry"
    GROWTH = "fungi grow"
    NO_GROWTH = "no mould grows in the week"
    TOO_COLD = "too cold to fly"
    GREEN_SAPWOOD = "warm and green: bark and ambrosia beetles"
    DRYING_SOFTWOOD = "few beetles start in drying softwood"
    OUTSIDE_BREEDING_RANGE = "powderpost beetles do not breed at this moisture"
    FINE_PORES = "pores too fine for powderpost beetles"
    POWDERPOST = "suits powderpost beetles"
    UNDER_ROOF = "no rain reaches the wood"
    NOT_HALF_DRY = "not half dry"
    NO_RAIN = "half dry, and no rain on a dry outside"
    RAINED_ON = "rain on a dry outside"
    NEAR_DRIEST = "at or near its driest so far"
    ABOVE_DRIEST = "wetter than it was"


@dataclass(frozen=True)
class SafeRate:
    """How fast a board may dry without checking.

    Parameters
    ----------
    rate : float
        Highest safe loss, % MC per day.
    wood : str
        The wood the published rate belongs to.
    basis : {"published", "stand-in", "density"}
        This wood's own, that of a relative, or that of hardwoods of its density.
    """

    rate: float
    wood: str
    basis: str
    source: str


@dataclass(frozen=True)
class Measured:
    """What was measured in the week; NaN or None where the risk does not ask for it.

    Parameters
    ----------
    mean_mc, core_mc, shell_mc : float
        Averages over the week of the board and its parts, % of oven-dry mass.
    air_temperature_c, air_rh_pct : float
        Averages of the air at the wood.
    air_emc_pct : float
        EMC of that average air, %.
    surface_rh_pct : float
        Average relative humidity at the face.
    heat_limit_c : float
        Temperature that green wood of the kind stands, °C.
    index_at_end : float
        Mould index at the week's end, 0 to 6.
    driest_mc : float
        Driest week so far, % of oven-dry mass.
    driest_week : date or None
        First day of that week.
    safe_rate : SafeRate or None
        Published for the board.
    """

    mean_mc: float = nan
    core_mc: float = nan
    shell_mc: float = nan
    air_temperature_c: float = nan
    air_rh_pct: float = nan
    air_emc_pct: float = nan
    surface_rh_pct: float = nan
    heat_limit_c: float = nan
    index_at_end: float = nan
    driest_mc: float = nan
    driest_week: date | None = None
    safe_rate: SafeRate | None = None
    species: str = ""
    thickness: Thickness | None = None


@dataclass(frozen=True)
class RiskWeek:
    """One risk in one week.

    Parameters
    ----------
    week : date
        First day of the week.
    level : {"low", "moderate", "high", "severe", "unknown"}
        How pressing it is; "unknown" where nothing is published.
    cause : Cause
        What decides the level.
    measure : float
        The number behind the level, in the unit the risk's own function states.
    measured : Measured
        What else was measured.
    place : str
        Kind of storage place the wood is in; "" where that is not known.
    """

    week: date
    risk: Risk
    level: Level
    cause: Cause
    measure: float
    measured: Measured = field(default_factory=Measured)
    place: str = ""

    @property
    def calls_for_action(self) -> bool:
        """Whether there is something to do about it."""
        return self.level not in ("low", "unknown")


def level_of(measure: float, limits: tuple[float, float, float]) -> Level:
    """Return the level of a measure, given where moderate, high and severe begin.

    Examples
    --------
    >>> level_of(0.7, (0.6, 1.0, 1.5))
    'moderate'
    """
    if not isfinite(measure):
        return "unknown"
    rank = sum(measure >= limit for limit in limits)
    return LEVELS[1 + rank]


def step_hours(time: TimeArray) -> float:
    """Return the regular step of a series in hours.

    Parameters
    ----------
    time : array of datetime64, shape (n,)

    Raises
    ------
    InputError
        With fewer than two times, an uneven step, or one longer than a day.
    """
    if time.size < 2:
        raise InputError(_("a risk needs at least two times. Give an hourly series."))
    steps = np.diff(time) / np.timedelta64(1, "h")
    if not np.allclose(steps, steps[0]) or not 0.0 < steps[0] <= 24.0:
        raise InputError(
            _(
                "the times of a risk must be even and at most a day apart. "
                "Give an hourly series."
            )
        )
    return float(steps[0])


@dataclass(frozen=True)
class Weeks:
    """The weeks of a series, counted from its first time; the last may be shorter.

    Parameters
    ----------
    days : tuple of date
        First day of each.
    starts, ends : ndarray of int, shape (weeks,)
        Where each begins in the series, and where the next does.
    """

    days: tuple[date, ...]
    starts: IntArray
    ends: IntArray

    def parts(self) -> Iterator[tuple[date, slice]]:
        """Yield each week's first day and where it lies in the series."""
        for day, start, end in zip(
            self.days, self.starts.tolist(), self.ends.tolist(), strict=True
        ):
            yield day, slice(start, end)

    def total(self, values: FloatArray) -> FloatArray:
        """Return the sum over each week."""
        total: FloatArray = np.add.reduceat(values, self.starts)
        return total

    def mean(self, values: FloatArray) -> FloatArray:
        """Return the average of each week."""
        return self.total(values) / (self.ends - self.starts)

    def greatest(self, values: FloatArray) -> FloatArray:
        """Return the greatest of each week; NaN counts only where all are NaN."""
        greatest: FloatArray = np.fmax.reduceat(values, self.starts)
        return greatest

    def last(self, values: FloatArray) -> FloatArray:
        """Return the last value of each week."""
        return values[self.ends - 1]


def weeks(time: TimeArray) -> Weeks:
    """Cut a series into weeks.

    Parameters
    ----------
    time : array of datetime64, shape (n,)
        Sorted; weeks are counted from the first one.
    """
    number = (time - time[0]) // _WEEK
    starts = np.flatnonzero(np.diff(number, prepend=-1))
    days = time[starts].astype("datetime64[D]").tolist()
    return Weeks(tuple(days), starts, np.append(starts[1:], time.size))
