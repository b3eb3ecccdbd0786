"""Texts of dates and times -> instants, whatever way the writer put them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from emcforecast._types import TimeArray
from emcforecast.errors import WeatherError
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.times.calendar import in_nanoseconds
from emcforecast.weather.times.date_texts import parse_parts


@dataclass(frozen=True)
class Stamps:
    """TimeArray read from a column.

    Attributes
    ----------
    time : ndarray of datetime64[ns], shape (n,)
        As the clock showed, or UTC where `utc` is True; NaT where unreadable.
    utc : bool
        True when every time carried its own offset and was brought to UTC.
    repairs : tuple of Repair
        What was decided and why.
    """

    time: TimeArray
    utc: bool
    repairs: tuple[Repair, ...]


def parse_stamps(
    cells: Sequence[str], *, day_first: bool | None = None, header: str = ""
) -> Stamps:
    """Read a column of dates with or without times.

    Parameters
    ----------
    cells : sequence of str, shape (n,)
        As they stand in the file.
    day_first : bool, optional
        Settles 03/04/2024.
    header : str
        The column's name, which may say "(DD/MM/YYYY)".

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
            "some times carry an offset from UTC and some do not; "
            "write them all the same way"
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
            f"the times ('{cells[0]}') are numbers of no known kind; "
            "write them as 2024-01-31 13:00"
        )
    whole = np.where(np.isfinite(value), value, 0.0)
    # Spreadsheet fractions of a day are rounded to the second.
    seconds = np.round(whole * (scale / 1e9), 0 if scale > 1e9 else 3)
    delta = (seconds * 1e3).astype(np.int64).astype("timedelta64[ms]")
    time = in_nanoseconds(np.datetime64(origin, "ms") + delta)
    time[~np.isfinite(value)] = np.datetime64("NaT")
    return Stamps(time, utc, (repair(kind),))
