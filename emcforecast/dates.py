"""Dates as people write and say them: one parser, one way to say them."""

import re
from datetime import date, datetime

from emcforecast.errors import InputError
from emcforecast.language import N_, NP_, _, p_

MONTHS = (
    N_("January"),
    N_("February"),
    N_("March"),
    N_("April"),
    N_("May"),
    N_("June"),
    N_("July"),
    N_("August"),
    N_("September"),
    N_("October"),
    N_("November"),
    N_("December"),
)
"""The months in English, as they are written in files; `month` says one."""
SHORT_MONTHS = (
    NP_("short month", "Jan"),
    NP_("short month", "Feb"),
    NP_("short month", "Mar"),
    NP_("short month", "Apr"),
    NP_("short month", "May"),
    NP_("short month", "Jun"),
    NP_("short month", "Jul"),
    NP_("short month", "Aug"),
    NP_("short month", "Sep"),
    NP_("short month", "Oct"),
    NP_("short month", "Nov"),
    NP_("short month", "Dec"),
)
FIRST_YEAR, LAST_YEAR = 1900, 2200
"""Years a date may be in."""

_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DAY_MONTH = re.compile(r"(\d{1,2})\.?\s+([^\W\d_]{3,9})\.?,?\s+(\d{4})")
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

    In another language its own months are read as well: "1. Mai 2026".
    """
    if isinstance(given, datetime):
        given = given.date()
    if isinstance(given, date):
        return _of_these_centuries(given, given.isoformat())
    text = given.strip()
    numbers = _numbers(text)
    if numbers is None:
        if _NUMBERS.search(text):
            raise InputError(
                _(
                    "'{given}' is not a date; write year-month-day, such as "
                    "2025-04-01: then day and month cannot be mixed up",
                    given=given,
                )
            )
        raise InputError(
            _(
                "'{given}' is not a date; write year-month-day, such as 2025-04-01",
                given=given,
            )
        )
    try:
        found = date(*numbers)
    except ValueError:
        raise InputError(
            _(
                "'{given}' is not a date: there is no such day; write "
                "year-month-day, such as 2025-04-01",
                given=given,
            )
        ) from None
    return _of_these_centuries(found, text)


def day_given(what: str, text: str) -> date:
    """Read a date as `parse_date` does; a refusal begins with what it was given for.

    Parameters
    ----------
    what : str
        The option or the field, as the person knows it.
    text : str
        The date.

    Raises
    ------
    InputError
        When it is not a date, is ambiguous, or is of another century.
    """
    try:
        return parse_date(text)
    except InputError as error:
        raise InputError(f"{what}: {error}") from None


def month(number: int) -> str:
    """Name a month, 1 to 12, in the language spoken.

    Examples
    --------
    >>> month(6)
    'June'
    """
    return _(MONTHS[number - 1])


def short_month(number: int) -> str:
    """Name a month, 1 to 12, for a narrow column: "Jun"."""
    return p_("short month", SHORT_MONTHS[number - 1])


def short_date(day: date) -> str:
    """Say a date for a narrow column.

    Examples
    --------
    >>> short_date(date(2025, 7, 6))
    '6 Jul 2025'
    """
    return p_(
        "short date",
        "{day} {month} {year}",
        day=day.day,
        month=short_month(day.month),
        year=day.year,
    )


def part_of_month(day: date) -> str:
    """Name the third of the month a day is in: "early January"."""
    part = (
        N_("early {month}")
        if day.day <= 10
        else N_("mid {month}")
        if day.day <= 20
        else N_("late {month}")
    )
    return _(part, month=month(day.month))


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
    if today is not None and day.year == today.year:
        return _("{day} {month}", day=day.day, month=month(day.month))
    return _("{day} {month} {year}", day=day.day, month=month(day.month), year=day.year)


def spoken_span(first: date, last: date, today: date | None = None) -> str:
    """Say a span of days; a year that both ends share is said once.

    Examples
    --------
    >>> spoken_span(date(2027, 1, 24), date(2027, 3, 2), date(2026, 12, 1))
    '24 January to 2 March 2027'
    >>> spoken_span(date(2026, 12, 24), date(2027, 3, 2), date(2026, 12, 1))
    '24 December 2026 to 2 March 2027'
    """
    begins = spoken(first, first if first.year == last.year else None)
    return _("{first} to {last}", first=begins, last=spoken(last, today))


def _numbers(text: str) -> tuple[int, int, int] | None:
    """Year, month and day as written, or None."""
    if match := _ISO.fullmatch(text):
        year, number, day = match.groups()
        return int(year), int(number), int(day)
    if match := _DAY_MONTH.fullmatch(text):
        day, name, year = match.groups()
    elif match := _MONTH_DAY.fullmatch(text):
        name, day, year = match.groups()
    else:
        return None
    months = {
        k
        for k, english in enumerate(MONTHS, 1)
        for known in (english, month(k))
        if known.lower().startswith(name.lower())
    }
    return (int(year), months.pop(), int(day)) if len(months) == 1 else None


def _of_these_centuries(day: date, text: str) -> date:
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise InputError(
            _(
                "'{text}': the year must be {first} to {last}; check the date",
                text=text,
                first=FIRST_YEAR,
                last=LAST_YEAR,
            )
        )
    return day
