"""Dates as people write and say them: one parser, one way to say them."""

import re
from datetime import date, datetime

from emcforecast.errors import InputError

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
FIRST_YEAR, LAST_YEAR = 1900, 2200
"""Years a date may be in."""

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DAY_MONTH = re.compile(r"(\d{1,2})\.?\s+([A-Za-z]{3,9})\.?,?\s+(\d{4})")
_MONTH_DAY = re.compile(r"([A-Za-z]{3,9})\.?\s+(\d{1,2}),?\s+(\d{4})")
_NUMBERS = re.compile(r"\d{1,4}([./])\d{1,2}\1\d{1,4}")


def parse_date(given: date | str) -> date:
    """Read a date as people write it and as this program prints it.

    Parameters
    ----------
    given : date or str
        "2026-04-01", "1 April 2026", "1 Apr 2026" or "April 1, 2026"; a date is
        returned as it is, without its time.

    Returns
    -------
    date

    Raises
    ------
    InputError
        When it is not a date, is ambiguous, or is of another century.

    Examples
    --------
    >>> parse_date("1 April 2026").isoformat(), parse_date("2026-04-01").isoformat()
    ('2026-04-01', '2026-04-01')
    """
    if isinstance(given, datetime):
        given = given.date()
    if isinstance(given, date):
        return _of_these_centuries(given, given.isoformat())
    text = given.strip()
    numbers = _numbers(text)
    if numbers is None:
        also = ""
        if _NUMBERS.search(text):
            also = ": then day and month cannot be mixed up"
        raise InputError(
            f"'{given}' is not a date; write year-month-day, such as 2025-04-01{also}"
        )
    try:
        found = date(*numbers)
    except ValueError:
        raise InputError(
            f"'{given}' is not a date: there is no such day; write year-month-day, "
            "such as 2025-04-01"
        ) from None
    return _of_these_centuries(found, text)


def spoken(day: date, today: date | None = None) -> str:
    """Say a date as people do.

    Parameters
    ----------
    day : date
    today : date, optional
        A date of this year is said without its year.

    Examples
    --------
    >>> spoken(date(2026, 8, 24)), spoken(date(2026, 8, 24), date(2026, 5, 1))
    ('24 August 2026', '24 August')
    """
    text = f"{day.day} {MONTHS[day.month - 1]}"
    this_year = today is not None and day.year == today.year
    return text if this_year else f"{text} {day.year}"


def spoken_span(first: date, last: date, today: date | None = None) -> str:
    """Say a span of days; a year that both ends share is said once.

    Examples
    --------
    >>> spoken_span(date(2027, 1, 24), date(2027, 3, 2), date(2026, 12, 1))
    '24 January to 2 March 2027'
    >>> spoken_span(date(2026, 12, 24), date(2027, 3, 2), date(2026, 12, 1))
    '24 December 2026 to 2 March 2027'
    """
    begins = f"{first.day} {MONTHS[first.month - 1]}"
    if first.year != last.year:
        begins += f" {first.year}"
    return f"{begins} to {spoken(last, today)}"


def _numbers(text: str) -> tuple[int, int, int] | None:
    """Year, month and day as written, or None."""
    if match := _ISO.fullmatch(text):
        year, month, day = match.groups()
        return int(year), int(month), int(day)
    if match := _DAY_MONTH.fullmatch(text):
        day, name, year = match.groups()
    elif match := _MONTH_DAY.fullmatch(text):
        name, day, year = match.groups()
    else:
        return None
    months = [
        k for k, month in enumerate(MONTHS, 1) if month.lower().startswith(name.lower())
    ]
    return (int(year), months[0], int(day)) if len(months) == 1 else None


def _of_these_centuries(day: date, text: str) -> date:
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise InputError(
            f"'{text}': the year must be {FIRST_YEAR} to {LAST_YEAR}; check the date"
        )
    return day
