"""Dates written with separators -> instants; each different text is read once."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from emcforecast._types import TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.times.clock_times import (
    CLOCK,
    TIME,
    ZONE,
    clock_of,
    whole_numbers,
)
from emcforecast.weather.times.day_order import assemble, order_of
from emcforecast.weather.times.years import in_nanoseconds, refuse_early

Ints = npt.NDArray[np.int64]
Rows = npt.NDArray[np.intp]

MONTH_NAMES = {
    **{"jan": 1, "ene": 1, "gen": 1, "sty": 1, "feb": 2, "fev": 2, "fév": 2, "lut": 2},
    **{"mar": 3, "mär": 3, "mrz": 3, "maa": 3, "mrt": 3, "apr": 4, "avr": 4, "abr": 4},
    **{"kwi": 4, "may": 5, "mai": 5, "mei": 5, "mag": 5, "maj": 5, "jun": 6, "giu": 6},
    **{"cze": 6, "jul": 7, "lug": 7, "lip": 7, "aug": 8, "aoû": 8, "aou": 8, "ago": 8},
    **{"sie": 8, "sep": 9, "set": 9, "wrz": 9, "oct": 10, "okt": 10, "ott": 10},
    **{"out": 10, "paź": 10, "nov": 11, "lis": 11, "dec": 12, "dez": 12, "dic": 12},
    **{"déc": 12, "gru": 12},
}
_DATE = re.compile(
    r"^\s*(?:[A-Za-z]{2,9}\.?,?\s+)?(?P<a>\d{1,4})(?P<sep>[-/.\s]\s?)"
    r"(?P<b>\d{1,2}|[^\W\d]{3,10}\.?)[-/.\s]\s?(?P<c>\d{1,4})\.?"
    rf"(?:[T,;:_\s]\s*{TIME}{ZONE})?\s*$"
)
_NAMED_FIRST = re.compile(
    r"^\s*(?P<b>[^\W\d]{3,10})\.?\s+(?P<a>\d{1,2})(?P<sep>),?\s+(?P<c>\d{4})"
    rf"(?:[T,;:_\s]\s*{TIME}{ZONE})?\s*$"
)


def parse_parts(
    cells: Sequence[str], day_first: bool | None, header: str
) -> tuple[TimeArray, bool, list[str]]:
    """Read a column of dates in whatever order of day, month and year.

    Parameters
    ----------
    cells : sequence of str, shape (n,)
        As they stand in the file.
    day_first : bool or None
        Settles 03/04/2024.
    header : str
        The column's name.

    Returns
    -------
    ndarray of datetime64[ns], shape (n,)
        NaT where unreadable.
    bool
        Whether every time carried its offset and was brought to UTC.
    list of str
        What was decided and why.

    Raises
    ------
    WeatherError
        When hardly any can be read, or the order stays open.
    """
    days, at_day, hours, at_hour = _extracted(cells)
    good = days["a"].notna().to_numpy(dtype=bool)[at_day]
    if good.mean() < 0.5:
        raise WeatherError(
            f"the times ('{cells[0][:30]}') cannot be read; "
            "write them as 2024-01-31 13:00"
        )
    for name in ("a", "c"):
        refuse_early(days[name].dropna().unique())
    words = days["b"].str.contains(r"[^\d]", regex=True, na=False).to_numpy(dtype=bool)
    middle = np.where(
        words, _named_months(days["b"]), whole_numbers(days["b"].where(~words))
    )
    clocks, zones, marks = clock_of(hours)
    clock = clocks[at_hour]
    year, month, day, notes = order_of(
        whole_numbers(days["a"])[at_day],
        middle[at_day],
        whole_numbers(days["c"])[at_day],
        good,
        clock,
        words[at_day],
        day_first,
        header,
        points=bool(days["sep"].dropna().str.strip().eq(".").all()),
    )
    time = in_nanoseconds(assemble(year, month, day)) + clock - zones[at_hour]
    time[~good] = np.datetime64("NaT")
    marked = marks[at_hour][good]
    if marked.any() and not marked.all():
        raise WeatherError(
            "some times carry an offset from UTC and some do not; "
            "write them all the same way"
        )
    return time, bool(marked.all()), notes


def _extracted(cells: Sequence[str]) -> tuple[pd.DataFrame, Rows, pd.DataFrame, Rows]:
    """Take the cells apart: dates and clocks, and which of them each row has."""
    dates: dict[str, int] = {}
    clocks: dict[str, int] = {}
    at_day = np.empty(len(cells), dtype=np.intp)
    at_hour = np.empty(len(cells), dtype=np.intp)
    for index, cell in enumerate(cells):
        date, _, clock = cell.strip().partition(" ")
        at_day[index] = dates.setdefault(date, len(dates))
        at_hour[index] = clocks.setdefault(clock, len(clocks))
    days = pd.Series(list(dates), dtype=object).str.extract(_DATE)
    times = pd.Series(list(clocks), dtype=object).str.strip()
    hours = times.str.extract(CLOCK)
    apart = (hours["hour"].notna() | times.eq("")).all() and days["hour"].isna().all()
    if days["a"].notna().all() and apart:
        return days, at_day, hours, at_hour
    text = pd.Series(cells, dtype=object)
    parts = text.str.extract(_DATE)
    if parts["a"].isna().mean() > 0.5:
        parts = text.str.extract(_NAMED_FIRST)
    rows = np.arange(len(cells))
    return parts, rows, parts, rows


def _named_months(text: pd.Series[str]) -> Ints:
    low = text.str.lower().str.slice(0, 3)
    number: Ints = low.map(MONTH_NAMES).fillna(-1).to_numpy().astype(np.int64)
    return number
