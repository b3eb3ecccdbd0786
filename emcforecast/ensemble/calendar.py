"""The calendar of a weather record: whole years joined end to start."""

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, IntArray
from emcforecast.dates import parse_date

Day = np.datetime64
"""A date, datetime64[D]."""

DAY_HOURS = 24
YEAR_DAYS = 365.2425
SLACK_DAYS = 18.0
"""A series that lacks so few days of a whole year still counts it (5 %)."""
HOUR = np.timedelta64(1, "h")


@dataclass(frozen=True)
class WeatherYears:
    """The last whole years of a series, by local time; after the last comes the first.

    Parameters
    ----------
    first : datetime64[h]
        Local standard time of row 0.
    hours : int
        Rows; the row after the last is row 0 again, at the same date of the year.
    skipped : int
        Rows of the series before row 0: the part of a year that is left over.
    years : int
        How many whole years, at least 1.
    """

    first: np.datetime64
    hours: int
    skipped: int
    years: int

    @property
    def end(self) -> np.datetime64:
        """Local time at which the last row ends, to the hour."""
        return self.first + self.hours * HOUR

    @property
    def last_day(self) -> Day:
        """Local date on which the record ends."""
        return np.datetime64(self.end.astype("datetime64[D]"))

    def row_of(self, day: Day) -> int | None:
        """Row of a date's first hour, or None when the weather does not hold it."""
        row = int((day.astype("datetime64[h]") - self.first) // HOUR)
        return row if 0 <= row < self.hours else None

    def starts(self, day: Day) -> tuple[IntArray, IntArray]:
        """Rows at which each year passes a date, with the calendar years.

        Parameters
        ----------
        day : datetime64[D]
            Its year does not matter; 29 February is 1 March in other years.

        Returns
        -------
        rows, years : ndarray of int, shape (years,)
        """
        begin = int(self.first.astype("datetime64[Y]").astype(np.int64)) + 1970
        if _in_year(day, begin).astype("datetime64[h]") < self.first:
            begin += 1
        years = np.arange(begin, begin + self.years)
        days = np.array([_in_year(day, int(y)) for y in years]).astype("datetime64[h]")
        return ((days - self.first) // HOUR).astype(np.int64) % self.hours, years


def weather_years(times: NDArray[np.datetime64], utc_offset: float) -> WeatherYears:
    """Find the whole years at the end of an hourly series.

    Parameters
    ----------
    times : ndarray of datetime64, shape (hours,)
        UTC, regular.
    utc_offset : float
        Local standard time minus UTC, h.

    Returns
    -------
    WeatherYears
        A series shorter than a year counts as one year as it is.

    Examples
    --------
    >>> times = np.arange("2015-03", "2018-06", dtype="datetime64[h]")
    >>> years = weather_years(times, 0.0)
    >>> years.years, str(years.first)
    (3, '2015-06-01T00')
    """
    local = times.astype("datetime64[h]") + round(utc_offset) * HOUR
    end = local[-1] + HOUR
    days = times.size / 24.0
    years = max(int((days + SLACK_DAYS) / YEAR_DAYS), 1)
    month = end.astype("datetime64[M]")
    wanted = (month - np.timedelta64(12 * years, "M")).astype("datetime64[h]") + (
        end - month.astype("datetime64[h]")
    )
    skipped = int(max((wanted - local[0]) // HOUR, 0))
    return WeatherYears(local[skipped], int(times.size - skipped), skipped, years)


def as_day(when: "date | str | np.datetime64") -> Day:
    """Return a date as datetime64[D], read by `emcforecast.dates.parse_date`.

    Examples
    --------
    >>> str(as_day("2025-04-01"))
    '2025-04-01'
    """
    if isinstance(when, np.datetime64):
        when = str(when.astype("datetime64[D]"))
    return np.datetime64(parse_date(when), "D")


def days_between(first: Day, last: Day) -> int:
    """Whole days from one date to another."""
    return int((last - first).astype("timedelta64[D]").astype(np.int64))


def _in_year(day: Day, year: int) -> np.datetime64:
    month = int(day.astype("datetime64[M]").astype(np.int64)) % 12
    number = day - day.astype("datetime64[M]").astype("datetime64[D]")
    first = np.datetime64(f"{year:04d}-{month + 1:02d}-01", "D")
    day_there: Day = first + number
    return day_there


SMOOTHING_DAYS = 15
"""Days over which a yearly curve is averaged before dates are read off it."""


def day_slot(days: NDArray[np.datetime64]) -> NDArray[np.int64]:
    """Day of a 365-day year, 0 to 364; 29 February counts as the 28th.

    Examples
    --------
    >>> day_slot(np.array(["2020-02-29", "2020-03-01", "2021-12-31"], "datetime64[D]"))
    array([ 58,  59, 364])
    """
    years = days.astype("datetime64[Y]")
    ordinal = (days - years.astype("datetime64[D]")).astype(np.int64)
    year = years.astype(np.int64) + 1970
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    result: NDArray[np.int64] = ordinal - (leap & (ordinal >= 59))
    return result


def month_of_day(slot: int) -> int:
    """Month (1 to 12) of a day of a 365-day year counted from 0."""
    day = np.datetime64("2001-01-01") + np.timedelta64(slot, "D")
    return int(day.astype("datetime64[M]").astype(np.int64) % 12 + 1)


def smooth(curve: FloatArray, days: int = SMOOTHING_DAYS) -> FloatArray:
    """Average a year-round daily curve over some days, wrapping over New Year.

    Parameters
    ----------
    curve : ndarray, shape (365,)
        One value a day.
    days : int
        Width of the mean, days.
    """
    half = days // 2
    wrapped = np.concatenate([curve[-half:], curve, curve[:half]])
    result: FloatArray = np.convolve(wrapped, np.full(days, 1.0 / days), mode="valid")
    return result
