"""Humidities read at fixed hours, as climate tables print them: 9 am and 3 pm."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.units import fahrenheit_to_celsius
from emcforecast.weather.formats.headers import Column, read_header
from emcforecast.weather.formats.table import Table, parse_numbers
from emcforecast.weather.mend.hours_from_means import temperature_course
from emcforecast.weather.repairs import RepairKind, repair

WIDEST, HALVINGS = 40.0, 40
"""K between which a daily range is looked for, and steps of the search."""
_HOUR = re.compile(
    r"(?i)(?<![\d.])(?P<hour>0?\d|1\d|2[0-3])(?:(?::|\.)?00)?\s?"
    r"(?P<half>a\.?m\.?|p\.?m\.?|h(?:rs?|eures?)?|uhr|o'?clock|ч|時|时)?(?![\w%])"
)


def hour_in(name: str) -> tuple[float, str] | None:
    """Return the hour of the day that a column's name says, and the name without it.

    Examples
    --------
    >>> hour_in("Mean 3pm relative humidity (%)")
    (15.0, 'Mean  relative humidity (%)')
    >>> hour_in("RH2m") is None
    True
    """
    for match in _HOUR.finditer(name):
        half = (match["half"] or "").lower()
        clock = ":" in match[0] or re.search(r"\d\d00", match[0])
        if not half and not clock:
            continue
        hour = float(match["hour"]) % 24.0
        if half.startswith("p") and hour < 12.0:
            hour += 12.0
        if half.startswith("a") and hour == 12.0:
            hour = 0.0
        return hour, name[: match.start()] + name[match.end() :]
    return None


def with_daily_mean(table: Table) -> Table:
    """Put a day's mean in the place of humidities read at fixed hours.

    Parameters
    ----------
    table : Table
        As read. Only one with two or more such columns and no plain humidity is
        changed.

    Returns
    -------
    Table
        With a column of the day's mean relative humidity, and one of the mean
        temperature where the table has none.

    Notes
    -----
    Vapour changes little within a day and temperature much. So the ratio of the
    humidities tells the difference of the temperatures, and with it the daily range on
    the usual course of a day; where temperatures of the same hours are given they do.
    Of that range, and of the one of the mean extremes where a table has them, the
    middle is taken: the first is too narrow in summer, the second too wide in winter.
    The day's mean humidity is that of all hours of this course at the one vapour
    pressure, as `emcforecast.weather.mend.hours_from_means` takes it apart again.
    """
    humid = _at_hours(table, "relative_humidity")
    plain = [c for c in table.columns if c.quantity == "relative_humidity"]
    if len(humid) < 2 or len(plain) > len(humid):
        return table
    warm = _at_hours(table, "air_temperature")
    mean = _mean_temperature(table, warm)
    if mean is None:
        return table
    said = {hour: parse_numbers(table.cells(at)).values for hour, at in humid.items()}
    shares = np.array(
        [h * (100.0 if np.nanmax(h) <= 1.0 else 1.0) for h in said.values()]
    )
    hours = list(humid)
    course = temperature_course(np.array(hours))
    if set(humid) <= set(warm):
        there = np.array([_celsius(table, warm[hour]) for hour in hours])
        swing = (there.max(axis=0) - there.min(axis=0)) / np.ptp(course)
    else:
        swing, extremes = _swing(mean, hours, shares), _range(table)
        swing = swing if extremes is None else 0.5 * (swing + extremes)
        there = mean + swing * course[:, None]
    pressure = vapour_pressure(there, shares).mean(axis=0)
    day = mean[:, None] + swing[:, None] * temperature_course(np.arange(24) + 0.5)
    full = 100.0 * pressure[:, None] / vapour_pressure(day, 100.0)
    humidity = np.minimum(full, 100.0).mean(axis=1)
    return _rewritten(table, humid, warm, mean, humidity)


def _at_hours(table: Table, quantity: str) -> dict[float, int]:
    """Find the columns of a quantity by the hour their names say."""
    found: dict[float, int] = {}
    for at, column in enumerate(table.columns):
        said = hour_in(column.name)
        if said is not None and read_header(said[1]).quantity == quantity:
            found.setdefault(said[0], at)
    return found


def _celsius(table: Table, at: int) -> FloatArray:
    numbers = parse_numbers(table.cells(at))
    column = table.columns[at]
    said = hour_in(column.name)
    unit = column.unit or read_header(said[1] if said else column.name).unit
    warm: FloatArray = numbers.values
    if "F" in (unit, *numbers.units):
        warm = np.asarray(fahrenheit_to_celsius(warm))
    return warm


def _first(table: Table, quantity: str, apart: Sequence[int] = ()) -> int | None:
    found = [
        at
        for at, column in enumerate(table.columns)
        if column.quantity == quantity and at not in apart
    ]
    return found[0] if found else None


def _mean_temperature(table: Table, warm: dict[float, int]) -> FloatArray | None:
    plain = _first(table, "air_temperature", list(warm.values()))
    if plain is not None:
        return _celsius(table, plain)
    high, low = (_first(table, f"daily_{end}") for end in ("maximum", "minimum"))
    if high is not None and low is not None:
        return 0.5 * (_celsius(table, high) + _celsius(table, low))
    if len(warm) < 2:
        return None
    result: FloatArray = np.mean([_celsius(table, at) for at in warm.values()], axis=0)
    return result


def _range(table: Table) -> FloatArray | None:
    high, low = (_first(table, f"daily_{end}") for end in ("maximum", "minimum"))
    if high is None or low is None:
        return None
    return _celsius(table, high) - _celsius(table, low)


def _swing(mean: FloatArray, hours: Sequence[float], shares: FloatArray) -> FloatArray:
    """Return the daily range that humidities of several hours show, K.

    One vapour pressure at all: the dampest and the driest are as the saturation
    pressures, so how far they differ tells how far the temperatures do.
    """
    course = temperature_course(np.array(hours, dtype=np.float64))
    cool, warm = int(np.argmin(course)), int(np.argmax(course))
    wanted = np.maximum(shares[cool], 1.0) / np.maximum(shares[warm], 1.0)
    low, high = np.zeros_like(mean), np.full_like(mean, WIDEST)
    for _ in range(HALVINGS):
        middle = 0.5 * (low + high)
        cold, hot = (mean + middle * course[at] for at in (cool, warm))
        ratio = vapour_pressure(hot, 100.0) / vapour_pressure(cold, 100.0)
        low, high = (
            np.where(ratio < wanted, middle, low),
            np.where(ratio < wanted, high, middle),
        )
    return low


def _rewritten(
    table: Table,
    humid: dict[float, int],
    warm: dict[float, int],
    mean: FloatArray,
    humidity: FloatArray,
) -> Table:
    gone = {*humid.values(), *warm.values()}
    kept = [at for at in range(len(table.columns)) if at not in gone]
    columns = [table.columns[at] for at in kept]
    added = [("relative humidity (%)", "relative_humidity", "percent", humidity)]
    if "air_temperature" not in {column.quantity for column in columns}:
        added.append(("temperature (C)", "air_temperature", "C", mean))
    columns += [Column(name, quantity, unit, "") for name, quantity, unit, _ in added]
    rows = [
        [row[at] for at in kept]
        + ["" if np.isnan(v[k]) else f"{v[k]:.4f}" for *_, v in added]
        for k, row in enumerate(table.rows)
    ]
    hours = ", ".join(f"{hour:g}" for hour in sorted(humid))
    said = repair(RepairKind.HUMIDITY_OF_HOURS, None, "relative_humidity", hours=hours)
    return replace(
        table, columns=tuple(columns), rows=rows, repairs=(*table.repairs, said)
    )
