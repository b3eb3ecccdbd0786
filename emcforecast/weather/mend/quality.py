"""Readings as they come -> an hourly grid, impossible values taken out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast import bounds
from emcforecast._types import FloatArray, IntArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.moist_air import relative_humidity, vapour_pressure
from emcforecast.weather.repairs import (
    Repair,
    RepairKind,
    counted,
    repair,
)
from emcforecast.weather.series import make_series

#: How far two readings of one time may differ before it is said (K, %).
APART = {"air_temperature": 2.0, "relative_humidity": 10.0}
LONGEST_SAME = 7 * 24
"""Hours on end that a reading may stay the same; real air hardly does so for a day."""
LONGEST_SATURATED = 14 * 24
"""The same for 100 %, where damp sensors and fog stay."""
HOUR = np.timedelta64(1, "h")


def without_strays(stamps: TimeArray) -> slice:
    """Return the part of sorted times without a few years away at either end."""
    few = max(3, stamps.size // 1000)
    if stamps.size < 10 * few:
        return slice(0, stamps.size)
    far = np.flatnonzero(np.diff(stamps) > np.timedelta64(366, "D")) + 1
    begin = max((int(at) for at in far if at <= few), default=0)
    end = min((int(at) for at in far if at >= stamps.size - few), default=stamps.size)
    return slice(begin, end)


def _spacing_repairs(
    stamps: TimeArray, place: IntArray, clean: Mapping[str, FloatArray]
) -> list[Repair]:
    """Say which readings share a time or an hour."""
    again = np.flatnonzero(np.diff(stamps) == np.timedelta64(0, "ns")) + 1
    twice = int(again.size)
    found = counted(RepairKind.REPEATED_TIMES, twice)
    if twice:
        found += disagreement(clean, again)
    distinct, counts = np.unique(place, return_counts=True)
    several = int(np.count_nonzero(counts > 1))
    if several > max(twice, 0.02 * distinct.size):
        hours = int(distinct.size)
        found.append(repair(RepairKind.READINGS_AVERAGED, stamps.size, hours=hours))
    return found


def disagreement(
    variables: Mapping[str, FloatArray], again: npt.NDArray[np.intp]
) -> list[Repair]:
    """Return how far readings of one time differ, when that is too far.

    `again`: rows, sorted by time, whose time is that of the row before.
    """
    for name, most in APART.items():
        if name not in variables:
            continue
        apart = np.abs(variables[name][again] - variables[name][again - 1])
        apart = apart[np.isfinite(apart)]
        many = int(np.count_nonzero(apart > most))
        if many:
            by = float(apart.max())
            return [repair(RepairKind.READINGS_DISAGREE, many, name, most=by)]
    return []


def stuck_sensors(variables: dict[str, FloatArray]) -> list[Repair]:
    """Return where hourly readings stay the same for longer than air does.

    Examples
    --------
    >>> stuck_sensors({"air_temperature": np.full(200, 21.5)})[0].facts
    (('hours', 200), ('level', 21.5))
    """
    found = []
    for name in ("air_temperature", "relative_humidity"):
        if name not in variables:
            continue
        values = variables[name]
        change = np.flatnonzero(np.diff(values) != 0.0) + 1
        begins = np.concatenate(([0], change))
        length = np.diff(np.concatenate((begins, [values.size])))
        level = values[begins]
        full = (name == "relative_humidity") & (level >= 100.0)
        length = np.where(full & (length <= LONGEST_SATURATED), 0, length)
        longest = int(np.argmax(length))
        hours, at = int(length[longest]), float(level[longest])
        if hours > LONGEST_SAME:
            found.append(
                repair(RepairKind.STUCK_SENSOR, None, name, level=at, hours=hours)
            )
    return found


def without_impossible(
    variables: Mapping[str, npt.ArrayLike],
    each: Literal["hour", "day", "month"] = "hour",
) -> tuple[dict[str, FloatArray], list[Repair]]:
    """Set impossible values missing and cap humidity a little above 100 %.

    Series units (°C, %, mm, m/s, W/m²); what one value stands for bounds the rain.
    """
    clean: dict[str, FloatArray] = {}
    found: list[Repair] = []
    for name, given in variables.items():
        values = np.asarray(given, dtype=np.float64)
        low, high = bounds.WEATHER[name]
        high = bounds.MOST_RAIN[each] if name == "precipitation" else high
        bad = (values < low) | (values > high)
        count = int(np.count_nonzero(bad))
        if count:
            such = float(values[bad][0])
            values = np.where(bad, np.nan, values)
            kind = RepairKind.IMPOSSIBLE_VALUES
            found.append(repair(kind, count, name, example=such))
        if name == "relative_humidity":
            over = values > 100.0
            count = int(np.count_nonzero(over))
            if count:
                values = np.where(over, 100.0, values)
                found.append(repair(RepairKind.HUMIDITY_CAPPED, count, name))
        elif name == "shortwave" and bool((values < 0.0).any()):
            values = np.where(values < 0.0, 0.0, values)
        elif name == "precipitation" and _never_rains(values, each):
            values = np.full(values.shape, np.nan)
            found.append(repair(RepairKind.RAIN_ALL_ZERO))
        clean[name] = values
    return clean, found


def _never_rains(rain: FloatArray, each: Literal["hour", "day", "month"]) -> bool:
    """Whether a year and more is known without a drop: then nobody measured it."""
    year = {"hour": 8760, "day": 365, "month": 12}[each]
    known = np.isfinite(rain)
    return int(known.sum()) >= year and not np.any(rain[known])


def hourly_grid(
    time: npt.ArrayLike,
    variables: Mapping[str, npt.ArrayLike],
    *,
    kind: str,
    source: str,
    repairs: Iterable[Repair] = (),
    precipitation: Literal["sum", "max"] = "sum",
    **place: Any,
) -> xr.Dataset:
    """Put readings at any times on whole hours (UTC); what is missing stays missing.

    `time`: UTC, any order and spacing; a reading belongs to the hour that holds it.
    `precipitation`: how several amounts within an hour combine. `place`: further
    arguments of `make_series`. Raises `WeatherError` when there is nothing to put on
    the grid.

    Notes
    -----
    Temperatures and vapour pressures are averaged within an hour, never relative
    humidity by itself.
    """
    stamps = np.asarray(time, dtype="datetime64[ns]")
    clean, found = without_impossible(variables)
    done = [*repairs, *found]
    if not all(
        name in clean and bool(np.isfinite(clean[name]).any())
        for name in ("air_temperature", "relative_humidity")
    ):
        _refuse_empty(clean)
    known = ~np.isnat(stamps)
    lost = int(stamps.size - np.count_nonzero(known))
    done += counted(RepairKind.READINGS_WITHOUT_TIME, lost)
    if lost:
        stamps = stamps[known]
        clean = {name: values[known] for name, values in clean.items()}
    if not _is_grid(stamps):
        stamps, clean, found = _onto_hours(stamps, clean, precipitation)
        done += found
    done += stuck_sensors(clean)
    for name in [n for n, v in clean.items() if not np.isfinite(v).any()]:
        del clean[name]
        done.append(repair(RepairKind.MISSING_THROUGHOUT, None, name))
    return make_series(
        stamps, clean, step="hour", kind=kind, source=source, repairs=done, **place
    )


def _refuse_empty(clean: Mapping[str, FloatArray]) -> None:
    for name, what in (
        ("air_temperature", "temperature"),
        ("relative_humidity", "humidity"),
    ):
        if name not in clean:
            raise WeatherError(
                _(
                    "the file has no {what}; temperature and humidity are both needed",
                    what=what,
                )
            )
        if not np.isfinite(clean[name]).any():
            raise WeatherError(
                _(
                    "every {what} value is missing or impossible; check the "
                    "column, its unit and its sign",
                    what=what,
                )
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
) -> tuple[TimeArray, dict[str, FloatArray], list[Repair]]:
    found: list[Repair] = []
    if bool((np.diff(stamps) < np.timedelta64(0, "ns")).any()):
        order = np.argsort(stamps, kind="stable")
        stamps = stamps[order]
        clean = {name: values[order] for name, values in clean.items()}
    keep = without_strays(stamps)
    if keep != slice(0, stamps.size):
        lost = stamps.size - (keep.stop - keep.start)
        odd = stamps[-1] if keep.start == 0 else stamps[0]
        such = str(odd.astype("datetime64[D]"))
        found.append(repair(RepairKind.STRAY_READINGS, lost, example=such))
        stamps = stamps[keep]
        clean = {name: values[keep] for name, values in clean.items()}
    hours = stamps.astype("datetime64[h]")
    first, last = hours[0], hours[-1]
    size = int((last - first) / HOUR) + 1
    if size > 1_800_000:
        raise WeatherError(
            _(
                "the times run from {first} to {last}, over 200 years; look "
                "for a wrong date in the file",
                first=first,
                last=last,
            )
        )
    place = ((hours - first) / HOUR).astype(np.int64)
    found += _spacing_repairs(stamps, place, clean)
    axis = first + np.arange(size) * HOUR
    e_pa = vapour_pressure(clean["air_temperature"], clean["relative_humidity"])
    grid: dict[str, FloatArray] = {}
    for name, values in clean.items():
        if name == "precipitation":
            once = _once(stamps, values) if precipitation == "sum" else values
            grid[name] = gather(place, once, size, precipitation)
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
    return axis.astype("datetime64[ns]"), grid, found


def _once(stamps: TimeArray, amounts: FloatArray) -> FloatArray:
    """Share a time's amount among the readings that repeat it, as their mean."""
    known = np.isfinite(amounts)
    _time, which = np.unique(stamps[known], return_inverse=True)
    shared = amounts.copy()
    shared[known] = amounts[known] / np.bincount(which)[which]
    return shared


def gather(place: IntArray, values: FloatArray, size: int, how: str) -> FloatArray:
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
