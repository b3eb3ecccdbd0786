"""Texts of times of day -> time since midnight, and the zones that stand behind."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from emcforecast.errors import WeatherError

Ints = npt.NDArray[np.int64]
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


def whole_numbers(text: pd.Series[str]) -> Ints:
    """Return texts as whole numbers, -1 where they are none.

    Parameters
    ----------
    text : pandas.Series of str
        Digits, or nothing.

    Returns
    -------
    ndarray of int, shape (n,)
        The numbers.
    """
    number = pd.to_numeric(text, errors="coerce").fillna(-1)
    whole: Ints = number.to_numpy().astype(np.int64)
    return whole


def clock_of(parts: pd.DataFrame) -> tuple[Spans, Spans, npt.NDArray[np.bool_]]:
    """Return what the groups of `CLOCK` mean.

    Parameters
    ----------
    parts : pandas.DataFrame
        Columns hour, minute, second, half and zone; missing where there was none.

    Returns
    -------
    ndarray of timedelta64[s], shape (n,)
        Time since midnight.
    ndarray of timedelta64[s], shape (n,)
        Zone ahead of UTC, nothing where none stands.
    ndarray of bool, shape (n,)
        Whether one stands.

    Raises
    ------
    WeatherError
        For a zone that is not known.
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

    Returns
    -------
    float or None
        None when it is not known.

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

    Raises
    ------
    WeatherError
        When hardly any can be read.
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
