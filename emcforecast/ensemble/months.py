"""A year of moisture by month: lowest, mean and driest day, over the years."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.calendar import HOUR, day_slot, month_of_day, smooth
from emcforecast.ensemble.percentiles import levels_of_many

MONTH = np.timedelta64(1, "M")
WHOLE_MONTH = 0.9
"""Least share of a month's hours that makes it count."""


@dataclass(frozen=True)
class MonthCalendar:
    """Months, years and days of an hourly record, by the place's own clock.

    Parameters
    ----------
    slots : ndarray of int, shape (months,)
        Months since 1970 that the record covers to nine tenths.
    starts, ends : ndarray of int, shape (months,)
        First row of each, and the row after its last.
    year_rows : tuple of (int, int)
        First row, and the row after the last, of every twelve months in a row,
        counted from the first month.
    day_starts : ndarray of int, shape (days,)
        First row of each day.
    day_slots, day_years : ndarray of int, shape (days,)
        Day of a 365-day year, and its calendar year counted from the first.
    hours : int
        Rows.
    """

    slots: IntArray
    starts: IntArray
    ends: IntArray
    year_rows: tuple[tuple[int, int], ...]
    day_starts: IntArray
    day_slots: IntArray
    day_years: IntArray
    hours: int

    def months_named(self, month: int) -> IntArray:
        """Return the numbers of the months of one name, 1 to 12."""
        return np.flatnonzero(self.slots % 12 == month - 1)

    def lowest(self, running: FloatArray) -> FloatArray:
        """Lowest of every month, of values by the hour.

        Parameters
        ----------
        running : ndarray, shape (hours,)
            Any quantity; NaN is left out.

        Returns
        -------
        ndarray, shape (months,)
        """
        rows = zip(self.starts, self.ends, strict=True)
        return np.array([np.fmin.reduce(running[a:b]) for a, b in rows])

    def lowest_of_years(self, running: FloatArray) -> FloatArray:
        """Lowest of every twelve months, of values by the hour, shape (years,)."""
        return np.array([np.fmin.reduce(running[a:b]) for a, b in self.year_rows])

    def means(self, values: FloatArray) -> FloatArray:
        """Mean over all months of one name, of values by the hour, shape (12,)."""
        known = np.isfinite(values)
        # One sum each month, so that a cell of a grid and a place agree to the bit.
        filled = np.where(known, values, 0.0)
        rows = list(zip(self.starts, self.ends, strict=True))
        total = np.array([filled[a:b].sum() for a, b in rows])
        count = np.array([np.count_nonzero(known[a:b]) for a, b in rows])
        name = self.slots % 12
        result: FloatArray = np.bincount(name, total, 12) / np.bincount(name, count, 12)
        return result

    def day_range(self, running: FloatArray) -> FloatArray:
        """Quantiles over the years of each day's mean; 29 February joins the 28th.

        Parameters
        ----------
        running : ndarray, shape (hours,)
            Values by the hour.

        Returns
        -------
        ndarray, shape (3, 365)
            The tenth, middle and ninetieth.
        """
        lengths = np.diff(np.append(self.day_starts, self.hours))
        daily = np.add.reduceat(running, self.day_starts) / lengths
        table = np.full((int(self.day_years.max()) + 1, 365), np.nan)
        table[self.day_years, self.day_slots] = daily
        return levels_of_many(table)


def month_calendar(
    times: NDArray[np.datetime64], utc_offset: float = 0.0
) -> MonthCalendar:
    """Find the months and days of an hourly record.

    Parameters
    ----------
    times : ndarray of datetime64, shape (hours,)
        UTC, regular.
    utc_offset : float
        Local standard time minus UTC, h.

    Returns
    -------
    MonthCalendar

    Examples
    --------
    >>> hours = np.arange("2020-01", "2021-01", dtype="datetime64[h]")
    >>> calendar = month_calendar(hours, 1.0)
    >>> calendar.slots.size, int(calendar.starts[1]), len(calendar.year_rows)
    (12, 743, 1)
    """
    local = times.astype("datetime64[h]") + round(utc_offset) * HOUR
    months = local.astype("datetime64[M]")
    index = months.astype(np.int64)
    first, last = int(index[0]), int(index[-1])
    slots = np.arange(first, last + 1)
    starts = np.searchsorted(index, slots, side="left")
    ends = np.searchsorted(index, slots, side="right")
    begins = slots.astype("datetime64[M]")
    full = (begins + MONTH).astype("datetime64[h]") - begins.astype("datetime64[h]")
    whole = ends - starts >= WHOLE_MONTH * full.astype(np.int64)
    slots, starts, ends = slots[whole], starts[whole], ends[whole]
    block = (slots - slots[0]) // 12 if slots.size else slots
    inside = [np.flatnonzero(block == b) for b in np.unique(block)]
    years = tuple((int(starts[k[0]]), int(ends[k[-1]])) for k in inside if k.size == 12)
    days = local.astype("datetime64[D]")
    number = days.astype(np.int64)
    day_starts = np.flatnonzero(np.diff(number, prepend=number[0] - 1))
    unique = days[day_starts]
    year = unique.astype("datetime64[Y]").astype(np.int64)
    return MonthCalendar(
        slots,
        starts,
        ends,
        years,
        day_starts,
        day_slot(unique),
        year - year.min(),
        int(times.size),
    )


def driest_month(day_range: FloatArray) -> int:
    """Month (1 to 12) in which the smoothed middle of the years is lowest.

    Parameters
    ----------
    day_range : ndarray, shape (3, 365)
        From `MonthCalendar.day_range`.
    """
    return month_of_day(int(np.argmin(smooth(day_range[1]))))
