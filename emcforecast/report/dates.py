"""Days in words, and spans of days the way people speak of them."""

from datetime import date

import numpy as np

from emcforecast.dates import part_of_month, short_date
from emcforecast.dates import spoken as spoken_date
from emcforecast.language import _, n_


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
    return short_date(day_of(day))


def part_of(day: np.datetime64) -> str:
    """Name a day by the third of its month.

    Examples
    --------
    >>> part_of(np.datetime64("2025-09-14"))
    'mid September 2025'
    """
    when = day_of(day)
    return _("{part} {year}", part=part_of_month(when), year=when.year)


def span(days: int) -> str:
    """Return a length of time in the unit people would use.

    Examples
    --------
    >>> [span(n) for n in (1, 10, 40, 250, 800)]
    ['a day', '10 days', '6 weeks', '8 months', '2.2 years']
    """
    days = abs(days)
    if days < 21:
        return n_("a day", "{count} days", days)
    if days < 84:
        return _("{weeks} weeks", weeks=round(days / 7))
    if days < 730:
        return _("{months} months", months=round(days / 30.44))
    return _("{years:g} years", years=round(days / 365.2425, 1))
