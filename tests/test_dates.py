"""Dates: what is printed is read back, and what is not a date is refused.

`date.fromisoformat` and `strftime` of the standard library are the reference.
"""

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from emcforecast.dates import parse_date, spoken
from emcforecast.errors import InputError

DAYS = st.dates(date(1900, 1, 1), date(2200, 12, 31))


@given(DAYS)
def test_what_is_printed_is_read_back(day: date) -> None:
    assert parse_date(spoken(day)) == day
    assert parse_date(day.isoformat()) == day
    assert spoken(day) == f"{day.day} {day:%B} {day.year}"


@given(DAYS)
def test_short_and_american_forms_are_read(day: date) -> None:
    assert parse_date(f" {day.day} {day:%b} {day.year} ") == day
    assert parse_date(f"{day:%B} {day.day}, {day.year}") == day
    assert parse_date(datetime(day.year, day.month, day.day, 17, 30)) == day


@pytest.mark.parametrize(
    "junk",
    ["2026-04-01junk", "2026-04-01T12", "4/5/2026", "4.5.2026", "2026-02-30", "", "now",
     "1 Ju 2026", "31 April 2026", "1 April", "99999-01-01"],
)  # fmt: skip
def test_junk_is_refused_with_the_way_to_write_it(junk: str) -> None:
    with pytest.raises(InputError, match="write year-month-day, such as 2025-04-01"):
        parse_date(junk)


def test_another_century_is_questioned() -> None:
    with pytest.raises(InputError, match="check the date"):
        parse_date("1066-10-14")
