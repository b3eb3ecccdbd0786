"""The times of a table, from whichever columns hold them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from emcforecast._types import TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.formats.table import Table
from emcforecast.weather.formats.time_columns import (
    clock_times,
    month_numbers,
    with_dates,
)
from emcforecast.weather.hints import Hints
from emcforecast.weather.series import NOMINAL_YEAR
from emcforecast.weather.times.clocks import to_utc
from emcforecast.weather.times.day_order import assemble
from emcforecast.weather.times.years import in_nanoseconds

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Timeline:
    """When the rows of a table were.

    Attributes
    ----------
    time : ndarray of datetime64[ns], shape (n,)
        UTC, or the start of the month for monthly rows; NaT where unreadable.
    step : {"hour", "day", "month", "normals"}
        What a row stands for; "hour" also for anything shorter and up to six hours.
    offset : float or None
        Local standard time minus UTC (h), when known.
    notes : tuple of str
        What was decided.
    """

    time: TimeArray
    step: str
    offset: float | None
    notes: tuple[str, ...]


def timeline(table: Table, chosen: dict[str, int], hints: Hints) -> Timeline:
    """Read the times of a table.

    Parameters
    ----------
    table : Table
        The table.
    chosen : dict of str to int
        Columns by quantity.
    hints : Hints
        Day order and clock, when given.

    Returns
    -------
    Timeline
        The times.

    Raises
    ------
    WeatherError
        When there is no time, or it stays ambiguous.
    """
    chosen = with_dates(table, chosen)
    if "month" in chosen and not {"year", "datetime", "date"} & set(chosen):
        if "day" in chosen:
            raise WeatherError(
                "the times have a month and a day but no year; add a year column"
            )
        return _normals(table, chosen["month"])
    time, utc, notes, names = clock_times(table, chosen, hints)
    return settled(time, utc, notes, [*names, *table.preamble], hints)


def settled(
    time: TimeArray, utc: bool, notes: list[str], names: list[str], hints: Hints
) -> Timeline:
    """Bring times to UTC and say how far apart they are.

    Parameters
    ----------
    time : ndarray of datetime64[ns], shape (n,)
        As printed; NaT where unreadable.
    utc : bool
        Whether they are UTC already.
    notes : list of str
        What was decided before.
    names : list of str
        Names of the time columns, and lines of the preamble.
    hints : Hints
        What the person said.

    Returns
    -------
    Timeline
        The times.

    Raises
    ------
    WeatherError
        When none can be read, or they are too far apart.
    """
    good = ~np.isnat(time)
    if good.sum() == 0:
        raise WeatherError(
            "no time in the file can be read; write them as 2024-01-31 13:00"
        )
    step = _step(time[good])
    if step == "month":
        return Timeline(
            time.astype("datetime64[M]").astype("datetime64[ns]"),
            step,
            hints.utc_offset,
            tuple(notes),
        )
    if step == "day":
        first = time.astype("datetime64[D]").astype("datetime64[ns]")
        return Timeline(first, step, hints.utc_offset, tuple(notes))
    if utc:
        return Timeline(time, step, hints.utc_offset, tuple(notes))
    out = time.copy()
    moved, offset, words = to_utc(time[good], names, hints)
    out[good] = moved
    return Timeline(out, step, offset, (*notes, *words))


def _step(time: TimeArray) -> str:
    if time.size < 2:
        return "hour"
    gaps = np.diff(time)
    if bool((gaps == gaps[0]).all()) and gaps[0] > np.timedelta64(0, "ns"):
        usual = float(gaps[0] / np.timedelta64(1, "h"))
    else:
        steps = np.diff(np.sort(time)) / np.timedelta64(1, "h")
        usual = float(np.median(steps[steps > 0.0])) if (steps > 0.0).any() else 1.0
    if usual <= 7.0:
        return "hour"
    if time.size > 5 and np.count_nonzero(gaps == np.timedelta64(0, "ns")) > (
        0.2 * time.size
    ):
        raise WeatherError(
            f"many readings share one time and times are {usual:g} h apart: the time "
            "of day is not recognised; say --column clock=NAME or hour=NAME"
        )
    if 23.0 <= usual <= 25.0:
        return "day"
    if 27.0 * 24 <= usual <= 32.0 * 24:
        return "month"
    raise WeatherError(
        f"readings are {usual:g} h apart; they must be at most 6 h apart, daily, or "
        "monthly"
    )


def _normals(table: Table, at: int) -> Timeline:
    month = month_numbers(table.cells(at))
    real = month[(month >= 1) & (month <= 12)]
    if sorted(real.tolist()) != list(range(1, 13)):
        have = len(set(real.tolist()))
        raise WeatherError(
            f"a table of monthly normals needs each month once; this one has {have} "
            f"different months in {real.size} rows: add a year column, or the months "
            "missing"
        )
    time = assemble(np.full_like(month, NOMINAL_YEAR), month, np.ones_like(month))
    return Timeline(in_nanoseconds(time), "normals", None, ())
