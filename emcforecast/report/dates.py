"""Days in words, and spans of days the way people speak of them."""

from datetime import date

import numpy as np

from emcforecast.dates import MONTHS
from emcforecast.dates import spoken as spoken_date


def day_of(day: np.datetime64) -> date:
    """Return a datetime64 as a date."""
    return date.fromisoformat(str(day.astype("datetime64[D]")))


def spoken(day: np.datetime64) -> str:
    """Return a day as people say it.

    Examples
    --------
    >>> spoken(np.datetime64("2025-07-06"))
    '6 July 2025'
    """
    return spoken_date(day_of(day))


def short(day: np.datetime64) -> str:
    """Return a day for a narrow column.

    Examples
    --------
    >>> short(np.datetime64("2025-07-06"))
    '6 Jul 2025'
    """
    y, m, d = str(day.astype("datetime64[D]")).split("-")
    return f"{int(d)} {MONTHS[int(m) - 1][:3]} {y}"


def part_of(day: np.datetime64) -> str:
    """Name a day by the third of its month.

    Examples
    --------
    >>> part_of(np.datetime64("2025-09-14"))
    'mid September 2025'
    """
    y, m, d = str(day.astype("datetime64[D]")).split("-")
    part = "early" if int(d) <= 10 else "mid" if int(d) <= 20 else "late"
    return f"{part} {MONTHS[int(m) - 1]} {y}"


def span(days: int) -> str:
    """Return a length of time in the unit people would use.

    Examples
    --------
    >>> [span(n) for n in (1, 10, 40, 250, 800)]
    ['a day', '10 days', '6 weeks', '8 months', '2.2 years']
    """
    days = abs(days)
    if days < 21:
        return "a day" if days == 1 else f"{days} days"
    if days < 84:
        return f"{round(days / 7)} weeks"
    if days < 730:
        return f"{round(days / 30.44)} months"
    return f"{round(days / 365.2425, 1):g} years"
