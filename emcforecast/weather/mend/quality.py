"""Readings as they come -> an hourly grid with impossible values taken out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import relative_humidity, vapour_pressure
from emcforecast.weather.mend.spacing import spacing_notes, without_strays
from emcforecast.weather.mend.stuck import stuck_notes
from emcforecast.weather.mend.words import plain_count
from emcforecast.weather.series import make_series

HOUR = np.timedelta64(1, "h")

#: What is possible; outside of it a value is set missing and counted.
LIMITS: dict[str, tuple[float, float, str]] = {
    "air_temperature": (-90.0, 60.0, "°C"),
    "relative_humidity": (0.1, 105.0, "%"),
    "precipitation": (0.0, 400.0, "mm"),
    "wind_speed": (0.0, 75.0, "m/s"),
    "shortwave": (-20.0, 1500.0, "W/m²"),
}
#: mm of rain; above the most ever measured in so long (from memory: about 400 in an
#: hour, 1,825 in a day, 9,300 in a month).
MOST_RAIN: dict[str, float] = {"hour": 400.0, "day": 2000.0, "month": 10000.0}


def without_impossible(
    variables: Mapping[str, npt.ArrayLike],
    each: Literal["hour", "day", "month"] = "hour",
) -> tuple[dict[str, FloatArray], list[str]]:
    """Set impossible values missing and cap humidity a little above 100 %.

    Parameters
    ----------
    variables : mapping of str to array_like
        Series variables in series units (°C, %, mm, m/s, W/m²).
    each : {"hour", "day", "month"}
        What one value stands for: it bounds the rain.

    Returns
    -------
    dict of str to ndarray
        The same, mended.
    list of str
        One sentence for each kind of repair, with its count.
    """
    clean: dict[str, FloatArray] = {}
    notes: list[str] = []
    for name, given in variables.items():
        values = np.asarray(given, dtype=np.float64)
        low, high, unit = LIMITS[name]
        high = MOST_RAIN[each] if name == "precipitation" else high
        bad = (values < low) | (values > high)
        count = int(np.count_nonzero(bad))
        words = name.replace("_", " ")
        if count:
            worst = values[bad][0]
            values = np.where(bad, np.nan, values)
            notes.append(
                f"{plain_count(count, f'impossible {words} value')} set missing "
                f"(such as {worst:g} {unit})"
            )
        if name == "relative_humidity":
            over = values > 100.0
            count = int(np.count_nonzero(over))
            if count:
                values = np.where(over, 100.0, values)
                notes.append(
                    f"{plain_count(count, 'relative humidity value')} "
                    "between 100 and 105 % capped at 100 %"
                )
        elif name == "shortwave" and bool((values < 0.0).any()):
            values = np.where(values < 0.0, 0.0, values)
        clean[name] = values
    return clean, notes


def hourly_grid(
    time: npt.ArrayLike,
    variables: Mapping[str, npt.ArrayLike],
    *,
    kind: str,
    source: str,
    notes: Iterable[str] = (),
    precipitation: Literal["sum", "max"] = "sum",
    **place: Any,
) -> xr.Dataset:
    """Put readings at any times on whole hours (UTC); what is missing stays missing.

    Parameters
    ----------
    time : array_like of datetime64, shape (n,)
        UTC, any order and spacing; a reading belongs to the hour that holds it.
    variables : mapping of str to array_like, shape (n,)
        Series variables in series units; NaN where missing.
    kind, source : str
        As in `make_series`.
    notes : iterable of str
        Repairs made before.
    precipitation : {"sum", "max"}
        How several amounts within an hour combine.
    **place
        Further arguments of `make_series`.

    Returns
    -------
    xarray.Dataset
        An hourly series, NaN where nothing was read.

    Raises
    ------
    WeatherError
        When there is nothing to put on the grid.

    Notes
    -----
    Temperatures and vapour pressures are averaged within an hour, never relative
    humidity by itself.
    """
    stamps = np.asarray(time, dtype="datetime64[ns]")
    clean, found = without_impossible(variables)
    repairs = [*notes, *found]
    if not all(
        name in clean and bool(np.isfinite(clean[name]).any())
        for name in ("air_temperature", "relative_humidity")
    ):
        _refuse_empty(clean)
    known = ~np.isnat(stamps)
    lost = int(stamps.size - np.count_nonzero(known))
    if lost:
        repairs.append(f"{plain_count(lost, 'reading')} without a time left out")
        stamps = stamps[known]
        clean = {name: values[known] for name, values in clean.items()}
    if not _is_grid(stamps):
        stamps, clean, found = _onto_hours(stamps, clean, precipitation)
        repairs += found
    repairs += stuck_notes(clean)
    for name in [n for n, v in clean.items() if not np.isfinite(v).any()]:
        del clean[name]
        repairs.append(f"{name.replace('_', ' ')} is missing throughout; not used")
    return make_series(
        stamps, clean, step="hour", kind=kind, source=source, repairs=repairs, **place
    )


def _refuse_empty(clean: Mapping[str, FloatArray]) -> None:
    for name, what in (
        ("air_temperature", "temperature"),
        ("relative_humidity", "humidity"),
    ):
        if name not in clean:
            raise WeatherError(
                f"the file has no {what}; temperature and humidity are both needed"
            )
        if not np.isfinite(clean[name]).any():
            raise WeatherError(
                f"every {what} value is missing or impossible; "
                "check the column, its unit and its sign"
            )


def _is_grid(stamps: TimeArray) -> bool:
    whole = stamps.astype("datetime64[h]")
    return (
        stamps.size > 0
        and bool((whole == stamps).all())
        and bool((np.diff(whole) == HOUR).all())
    )


def _onto_hours(
    stamps: TimeArray, clean: dict[str, FloatArray], precipitation: str
) -> tuple[TimeArray, dict[str, FloatArray], list[str]]:
    notes: list[str] = []
    if bool((np.diff(stamps) < np.timedelta64(0, "ns")).any()):
        order = np.argsort(stamps, kind="stable")
        stamps = stamps[order]
        clean = {name: values[order] for name, values in clean.items()}
    keep = without_strays(stamps)
    if keep != slice(0, stamps.size):
        lost = stamps.size - (keep.stop - keep.start)
        odd = stamps[-1] if keep.start == 0 else stamps[0]
        notes.append(
            f"{plain_count(lost, 'reading')} over a year from all others left out "
            f"(such as {odd.astype('datetime64[D]')})"
        )
        stamps = stamps[keep]
        clean = {name: values[keep] for name, values in clean.items()}
    hours = stamps.astype("datetime64[h]")
    first, last = hours[0], hours[-1]
    size = int((last - first) / HOUR) + 1
    if size > 1_800_000:
        raise WeatherError(
            f"the times run from {first} to {last}, over 200 years; "
            "look for a wrong date in the file"
        )
    place = ((hours - first) / HOUR).astype(np.int64)
    notes += spacing_notes(stamps, place, clean)
    axis = first + np.arange(size) * HOUR
    e_pa = vapour_pressure(clean["air_temperature"], clean["relative_humidity"])
    grid: dict[str, FloatArray] = {}
    for name, values in clean.items():
        if name == "precipitation":
            grid[name] = gather(place, values, size, precipitation)
        elif name != "relative_humidity":
            grid[name] = gather(place, values, size, "mean")
    single = np.bincount(place, minlength=size) == 1
    both = np.isfinite(e_pa)
    t_both = gather(
        place, np.where(both, clean["air_temperature"], np.nan), size, "mean"
    )
    humid = relative_humidity(t_both, gather(place, e_pa, size, "mean"))
    # A lone reading is kept to the last digit.
    alone = np.full(size, np.nan)
    alone[place] = clean["relative_humidity"]
    grid["relative_humidity"] = np.minimum(np.where(single, alone, humid), 100.0)
    return axis.astype("datetime64[ns]"), grid, notes


def gather(
    place: npt.NDArray[np.int64], values: FloatArray, size: int, how: str
) -> FloatArray:
    """Combine readings by slot: "mean", "sum" or "max"; NaN where there is none."""
    known = np.isfinite(values)
    where, what = place[known], values[known]
    count = np.bincount(where, minlength=size)
    if how == "max":
        out = np.full(size, -np.inf)
        np.maximum.at(out, where, what)
    else:
        out = np.bincount(where, weights=what, minlength=size)
        if how == "mean":
            out = out / np.maximum(count, 1)
    result: FloatArray = np.where(count > 0, out, np.nan)
    return result
