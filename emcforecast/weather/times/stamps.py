"""Texts of dates, times of day and zones -> instants, whatever way they are written."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from emcforecast._types import BoolArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.repairs import Repair, RepairKind, repair
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
    """Return texts as whole numbers, -1 where they are none."""
    number = pd.to_numeric(text, errors="coerce").fillna(-1)
    whole: IntArray = number.to_numpy().astype(np.int64)
    return whole


def clock_of(parts: pd.DataFrame) -> tuple[Spans, Spans, BoolArray]:
    """Return what the groups of `CLOCK` mean.

    Returns the time since midnight, the zone ahead of UTC (nothing where none stands)
    and whether one stands, each of shape (n,).
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
            _(
                "time zone '{odd}' is not known; write offsets such as "
                "+01:00, or leave them out and give --utc-offset",
                odd=odd[0],
            )
        )
    hours = words.map(lambda word: known[word] or 0.0).to_numpy(dtype=np.float64)
    zone = np.round(hours * 3600).astype(np.int64).astype("timedelta64[s]")
    return clock, zone, (words != "").to_numpy(dtype=bool)


def zone_hours(word: str) -> float | None:
    """Return the hours ahead of UTC that "CET", "+01:00" or "UTC-5" means.

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

    Such as "13:05", "1:05 PM", "13" or "1305". Returns the time since midnight, NaT
    where unreadable.
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
            _(
                "the times of day ('{cell}') cannot be read; write them as 13:00",
                cell=cells[0][:20],
            )
        )
    clock, *_rest = clock_of(parts)
    clock[~good] = np.array("NaT", dtype=clock.dtype)
    return clock


def parse_parts(
    cells: Sequence[str], day_first: bool | None, header: str
) -> tuple[TimeArray, bool, list[Repair]]:
    """Read a column of dates in whatever order of day, month and year.

    `day_first` settles 03/04/2024; `header` is the column's name. Returns the times
    (NaT where unreadable), whether every time carried its offset and was brought to
    UTC, and what was decided and why.
    """
    days, at_day, hours, at_hour = _extracted(cells)
    good = days["a"].notna().to_numpy(dtype=bool)[at_day]
    if good.mean() < 0.5:
        raise WeatherError(
            _(
                "the times ('{cell}') cannot be read; write them as 2024-01-31 13:00",
                cell=cells[0][:30],
            )
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
    time[~good] = np.array("NaT", dtype=time.dtype)
    marked = marks[at_hour][good]
    if marked.any() and not marked.all():
        raise WeatherError(
            _(
                "some times carry an offset from UTC and some do not; write "
                "them all the same way"
            )
        )
    return time, bool(marked.all()), repairs


def _extracted(cells: Sequence[str]) -> tuple[pd.DataFrame, Rows, pd.DataFrame, Rows]:
    """Take the cells apart: dates and clocks, and which of them each row has."""
    dates: dict[str, int] = {}
    clocks: dict[str, int] = {}
    at_day = np.empty(len(cells), dtype=np.intp)
    at_hour = np.empty(len(cells), dtype=np.intp)
    for index, cell in enumerate(cells):
        date, _gap, clock = cell.strip().partition(" ")
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


@dataclass(frozen=True)
class Stamps:
    """Times read from a column: as the clock showed or, where `utc`, brought to UTC.

    NaT where unreadable.
    """

    time: TimeArray
    utc: bool
    repairs: tuple[Repair, ...]


def parse_stamps(
    cells: Sequence[str], *, day_first: bool | None = None, header: str = ""
) -> Stamps:
    """Read a column of dates with or without times.

    `day_first` settles 03/04/2024, and so may the column's name: "(DD/MM/YYYY)".

    Examples
    --------
    >>> found = parse_stamps(["31/01/2024 23:00", "01/02/2024 00:00"])
    >>> found.time.astype("datetime64[h]").tolist()[1].isoformat()
    '2024-02-01T00:00:00'
    """
    sample = next((cell for cell in cells if cell.strip()), "")
    if re.match(r"^\s*\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d|\s*$)", sample):
        found = _iso(cells)
        if found is not None:
            return found
    if re.match(r"^\s*\d+(?:[.,]\d+)?\s*$", sample):
        return _numeric(cells)
    if re.match(r"^\s*\d{8}[:T_ -]\d{2,6}\s*$", sample):
        return _numeric([re.sub(r"\D", "", cell) for cell in cells])
    time, utc, repairs = parse_parts(cells, day_first, header)
    return Stamps(time, utc, tuple(repairs))


def _iso(cells: Sequence[str]) -> Stamps | None:
    text = (
        pd.Series(cells, dtype=object)
        .str.strip()
        .str.replace(r"\s*UTC$", "Z", regex=True)
    )
    late = text.str.contains(r"[T ]24:00", regex=True)
    if late.any():
        text = text.where(
            ~late, text.str.replace(r"([T ])24:00", r"\g<1>00:00", regex=True)
        )
    zoned = text.str.contains(r"(?:Z|[+-]\d{2}:?\d{2})$", regex=True) & (
        text.str.len() > 10
    )
    try:
        when = pd.to_datetime(text, format="ISO8601", utc=True, errors="coerce")
    except (ValueError, OverflowError):
        return None
    time = in_nanoseconds(when.dt.tz_localize(None).to_numpy())
    time = time + late.to_numpy(dtype=bool) * np.timedelta64(24, "h")
    read = ~np.isnat(time)
    if read.sum() < 0.5 * len(cells):
        return None
    marked = zoned.to_numpy(dtype=bool)[read]
    if marked.any() and not marked.all():
        raise WeatherError(
            _(
                "some times carry an offset from UTC and some do not; write "
                "them all the same way"
            )
        )
    return Stamps(time, bool(marked.all()), ())


def _numeric(cells: Sequence[str]) -> Stamps:
    """Read epoch seconds or milliseconds, Excel serials, and digits run together."""
    text = pd.Series(cells, dtype=object).str.strip().str.replace(",", ".", regex=False)
    digits = text.str.fullmatch(r"(?:19|20)\d{2}(?:\d{2}){2,5}")
    length = int(text.str.len().mode().iloc[0])
    if digits.mean() > 0.9 and length in (8, 10, 12, 14):
        form = {8: "%Y%m%d", 10: "%Y%m%d%H", 12: "%Y%m%d%H%M", 14: "%Y%m%d%H%M%S"}
        late = (
            text.str.slice(8, 10) == "24"
            if length > 8
            else pd.Series(False, text.index)
        )
        text = text.where(~late, text.str.slice(0, 8) + "00" + text.str.slice(10))
        when = pd.to_datetime(text, format=form[length], errors="coerce")
        if when.notna().mean() > 0.9:
            time = in_nanoseconds(when.to_numpy())
            time = time + np.where(
                late, np.timedelta64(24, "h"), np.timedelta64(0, "h")
            )
            return Stamps(time, utc=False, repairs=())
    value = pd.to_numeric(text, errors="coerce").to_numpy(dtype=np.float64)
    middle = float(np.nanmedian(value)) if np.isfinite(value).any() else np.nan
    if 1e8 < middle < 5e9:
        scale, origin, utc, kind = 1e9, "1970-01-01", True, RepairKind.EPOCH_SECONDS
    elif 1e11 < middle < 5e12:
        scale, origin, utc = 1e6, "1970-01-01", True
        kind = RepairKind.EPOCH_MILLISECONDS
    elif 15000 < middle < 80000:
        scale, origin, utc, kind = 86400e9, "1899-12-30", False, RepairKind.DAY_NUMBERS
    else:
        raise WeatherError(
            _(
                "the times ('{cell}') are numbers of no known kind; write "
                "them as 2024-01-31 13:00",
                cell=cells[0],
            )
        )
    whole = np.where(np.isfinite(value), value, 0.0)
    # Spreadsheet fractions of a day are rounded to the second.
    seconds = np.round(whole * (scale / 1e9), 0 if scale > 1e9 else 3)
    delta = (seconds * 1e3).astype(np.int64).astype("timedelta64[ms]")
    time = in_nanoseconds(np.datetime64(origin, "ms") + delta)
    time[~np.isfinite(value)] = np.array("NaT", dtype=time.dtype)
    return Stamps(time, utc, (repair(kind),))
