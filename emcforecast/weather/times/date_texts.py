"""Texts of dates and of times of day -> instants."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from emcforecast._types import BoolArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.repairs import Repair
from emcforecast.weather.times.calendar import (
    assemble,
    in_nanoseconds,
    order_of_parts,
    refuse_early,
)

Spans = npt.NDArray[np.timedelta64]

ZONES = {
    **{"z": 0.0, "utc": 0.0, "gmt": 0.0, "ut": 0.0, "wet": 0.0, "bst": 1.0},
    **{"cet": 1.0, "mez": 1.0, "cest": 2.0, "mesz": 2.0, "eet": 2.0, "eest": 3.0},
    **{"est": -5.0, "edt": -4.0, "cst": -6.0, "cdt": -5.0, "mst": -7.0, "mdt": -6.0},
    **{"pst": -8.0, "pdt": -7.0, "akst": -9.0, "akdt": -8.0, "hst": -10.0},
}
TIME = (
    r"(?P<hour>\d{1,2})(?:[:.h](?P<minute>\d{1,2}))?(?:[:.](?P<second>\d{1,2})"
    r"(?:[.,]\d+)?)?\s*(?P<half>[aApP]\.?\s?[mM]\.?)?"
)
ZONE = r"\s*(?P<zone>Z|z|[A-Za-z]{2,4}|(?:UTC|GMT)?[+-]\d{1,2}(?::?\d{2})?)?"
CLOCK = re.compile(rf"^\s*{TIME}{ZONE}\s*$")
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


def whole_numbers(text: pd.Series[str]) -> IntArray:
    """Return texts as whole numbers, -1 where they are none.

    Returns
    -------
    ndarray of int, shape (n,)
        The numbers.
    """
    number = pd.to_numeric(text, errors="coerce").fillna(-1)
    whole: IntArray = number.to_numpy().astype(np.int64)
    return whole


def clock_of(parts: pd.DataFrame) -> tuple[Spans, Spans, BoolArray]:
    """Return what the groups of `CLOCK` mean.

    Returns
    -------
    ndarray of timedelta64[s], shape (n,)
        Time since midnight.
    ndarray of timedelta64[s], shape (n,)
        Zone ahead of UTC, nothing where none stands.
    ndarray of bool, shape (n,)
        Whether one stands.
    """
    hour = np.maximum(whole_numbers(parts["hour"]), 0)
    minute = np.maximum(whole_numbers(parts["minute"]), 0)
    second = np.maximum(whole_numbers(parts["second"]), 0)
    half = parts["half"].str.lower().str.slice(0, 1)
    afternoon = (half == "p").to_numpy(dtype=bool)
    morning = (half == "a").to_numpy(dtype=bool)
    hour = np.where(afternoon & (hour < 12), hour + 12, hour)
    hour = np.where(morning & (hour == 12), 0, hour)
    clock = ((hour * 60 + minute) * 60 + second).astype("timedelta64[s]")
    words = parts["zone"].fillna("").astype(str)
    known: dict[str, float | None] = {word: zone_hours(word) for word in words.unique()}
    odd = [word for word, value in known.items() if word and value is None]
    if odd:
        raise WeatherError(
            f"time zone '{odd[0]}' is not known; write offsets such as +01:00, or "
            "leave them out and give --utc-offset"
        )
    hours = words.map(lambda word: known[word] or 0.0).to_numpy(dtype=np.float64)
    zone = np.round(hours * 3600).astype(np.int64).astype("timedelta64[s]")
    return clock, zone, (words != "").to_numpy(dtype=bool)


def zone_hours(word: str) -> float | None:
    """Return the hours ahead of UTC that a zone or offset means.

    Parameters
    ----------
    word : str
        Such as "Z", "CET", "+01:00" or "UTC-5".

    Examples
    --------
    >>> zone_hours("UTC+5:30"), zone_hours("-0800"), zone_hours("Z")
    (5.5, -8.0, 0.0)
    """
    text = word.strip().lower()
    if text in ZONES:
        return ZONES[text]
    match = re.fullmatch(r"(?:utc|gmt)?\s*([+-−])\s*(\d{1,2})(?::?(\d{2}))?", text)
    if not match:
        return None
    sign = 1.0 if match[1] == "+" else -1.0
    return sign * (int(match[2]) + int(match[3] or 0) / 60.0)


def parse_clock(cells: Sequence[str]) -> Spans:
    """Read a column of times of day.

    Parameters
    ----------
    cells : sequence of str, shape (n,)
        Such as "13:05", "1:05 PM", "13" or "1305".

    Returns
    -------
    ndarray of timedelta64[s], shape (n,)
        Time since midnight; NaT where unreadable.
    """
    text = pd.Series(cells, dtype=object).str.strip()
    fraction = text.str.replace(",", ".", regex=False)
    if fraction.str.fullmatch(r"0|1|[01]?\.\d{2,}").all():
        seconds = np.round(fraction.astype(float).to_numpy() * 86400.0)
        return seconds.astype(np.int64).astype("timedelta64[s]")
    if text.str.fullmatch(r"\d{3,4}").mean() > 0.5 or (
        text.str.fullmatch(r"\d{1,4}").all() and text.str.len().max() > 2
    ):
        text = text.str.zfill(4)
        text = text.str.slice(0, 2) + ":" + text.str.slice(2)
    parts = text.str.extract(CLOCK)
    good = parts["hour"].notna().to_numpy(dtype=bool)
    if good.mean() < 0.5:
        raise WeatherError(
            f"the times of day ('{cells[0][:20]}') cannot be read; write them as 13:00"
        )
    clock, _, _ = clock_of(parts)
    clock[~good] = np.timedelta64("NaT")
    return clock


def parse_parts(
    cells: Sequence[str], day_first: bool | None, header: str
) -> tuple[TimeArray, bool, list[Repair]]:
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
    list of Repair
        What was decided and why.
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
    year, month, day, repairs = order_of_parts(
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
    return time, bool(marked.all()), repairs


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


def _named_months(text: pd.Series[str]) -> IntArray:
    low = text.str.lower().str.slice(0, 3)
    number: IntArray = low.map(MONTH_NAMES).fillna(-1).to_numpy().astype(np.int64)
    return number
