"""Damage that leaves every value possible, found by what air, sun and seasons do."""

from __future__ import annotations

import numpy as np
import xarray as xr

from emcforecast._types import BoolArray, FloatArray, TimeArray
from emcforecast.weather.repairs import Repair, RepairKind, add_repairs, repair

HALF_A_YEAR = 4380
COLDEST_SUMMER = 3.0
"""°C; the warmest tenth of a half-year or more is colder on ice caps alone."""
HOTTEST = 45.0
"""°C; no place is hotter for a tenth of the hours."""
FRACTION = 1.0
"""%; no air outdoors is so dry for hours on end."""
RUN = 12
"""Hours of such a run."""
SAME = 0.9
"""Share of hours that equal the hour before, where days repeat one value."""
WARMEST = (12.5, 18.5)
"""Solar hours between which days are warmest: two to four after noon on land."""
SWING = 1.0
"""K; half the daily swing of temperature that makes its hour sure."""
NOON_OFF = 1.5
"""Hours by which the middle of the sunshine may be off noon."""
DRIEST = 12.0
"""%; the deserts' yearly means are 20 and more."""
DAMPEST = 98.5
"""%; cloud forests and foggy summits have 90 to 97."""
ALONE = {"air_temperature": 8.0, "relative_humidity": 25.0}
"""K, %: how far off both its neighbours a value stands alone among hours."""
LEAPS = {"air_temperature": 12.0, "relative_humidity": 50.0}
"""K, %: how far off both neighbours no single hour stands; 3.9 and 29 are the largest
of three years of hours at hand, measured and typical (docs/robustness.md)."""
LONGEST_ALONE = 48
"""Hours on end that the mark of a missing value may stand."""
NEARER = 0.2
"""The part of that which is enough for a value known to be a mark."""
FEWEST_MARKS = 10
MARKS = 0.6
"""Share of the values that stand alone which are one and the same, of a mark."""
ROUGHER = 1.6
"""How much more days 1 to 12 of a month may differ from one another than later ones."""


def questioned(series: xr.Dataset, columns: list[str]) -> xr.Dataset:
    """Return an hourly series with what is doubtful in it said.

    `columns`: "quantity: name (unit)" as read. Humidity that turns into a fraction in
    mid-record is set missing; all else stays as it is, with a repair that asks to look.
    """
    time = series["time"].to_numpy()
    t = series["air_temperature"].to_numpy()
    found = _unit(t, columns) + humidity_doubt(series["relative_humidity"].to_numpy())
    for name in ALONE:
        alone, said = _marks(name, series[name].to_numpy())
        if said:
            series = series.assign({name: series[name].where(~alone)})
            found += said
    found += leaps_said(series)
    t = series["air_temperature"].to_numpy()
    humid = series["relative_humidity"].to_numpy()
    gone = _fractions(humid)
    lost = int(np.count_nonzero(gone))
    if lost:
        kept = series["relative_humidity"].where(~gone)
        series = series.assign(relative_humidity=kept)
        found.append(repair(RepairKind.HUMIDITY_FRACTIONS, lost))
    found += _repeated_days(t)
    found += _swapped_days(time, t)
    longitude = series.attrs.get("longitude")
    sun = series["shortwave"].to_numpy() if "shortwave" in series else None
    if longitude is not None:
        found += _clock(time, t, sun, float(longitude))
    return add_repairs(series, *found) if found else series


def _unit(t: FloatArray, columns: list[str]) -> list[Repair]:
    known = t[np.isfinite(t)]
    if known.size < HALF_A_YEAR:
        return []
    warm = float(np.quantile(known, 0.9))
    named = next((c for c in columns if c.startswith("air_temperature:")), "")
    if named.endswith("(F)") and warm < COLDEST_SUMMER:
        return [repair(RepairKind.UNIT_DOUBTFUL, read="F", other="C", warm=warm)]
    if named.endswith("(C)") and warm > HOTTEST:
        return [repair(RepairKind.UNIT_DOUBTFUL, read="C", other="F", warm=warm)]
    return []


def humidity_doubt(humid: FloatArray, fewest: int = HALF_A_YEAR) -> list[Repair]:
    """Say where humidity is drier or damper on average than any climate's."""
    known = humid[np.isfinite(humid)]
    if known.size < fewest or DRIEST <= known.mean() <= DAMPEST:
        return []
    mean = float(known.mean())
    return [repair(RepairKind.HUMIDITY_DOUBTFUL, mean=mean)]


def leaps_said(series: xr.Dataset) -> list[Repair]:
    """Say which single hours leap there and back as no air does; they are kept."""
    found = []
    for name, most in LEAPS.items():
        values = series[name].to_numpy()
        leaps = _stands_off(values, most)
        count = int(np.count_nonzero(leaps))
        if count:
            such = float(values[leaps][0])
            found.append(repair(RepairKind.LEAPS, count, name, example=such))
    return found


def _marks(name: str, values: FloatArray) -> tuple[BoolArray, list[Repair]]:
    """Find one value that stands alone again and again, far from those around it."""
    at = np.flatnonzero(np.isfinite(values))
    none = np.zeros(values.size, dtype=bool)
    # Readings hours apart leap by themselves.
    if at.size < 3 or at.size < 0.5 * values.size:
        return none, []
    held = values[at]
    begins = np.flatnonzero(np.diff(held, prepend=np.nan) != 0.0)
    level = held[begins]
    length = np.diff(begins, append=held.size)
    far = _stands_off(level, ALONE[name]) & (length <= LONGEST_ALONE)
    which, count = np.unique(level[far], return_counts=True)
    if not count.size or count.max() < max(FEWEST_MARKS, MARKS * count.sum()):
        return none, []
    mark = which[np.argmax(count)]
    # Once it is known for a mark, less shows that it is one.
    far |= _stands_off(level, NEARER * ALONE[name]) & (length <= LONGEST_ALONE)
    alone = none
    for run in np.flatnonzero(far & (level == mark)):
        alone[at[begins[run] : begins[run] + length[run]]] = True
    kind = RepairKind.MARKS_OF_MISSING
    return alone, [repair(kind, int(alone.sum()), name, value=float(mark))]


def _stands_off(level: FloatArray, by: float) -> BoolArray:
    """Return which values are above both their neighbours by more, or below both."""
    leap = np.diff(level)
    far = np.zeros(level.size, dtype=bool)
    far[1:-1] = (leap[:-1] > by) & (leap[1:] < -by)
    far[1:-1] |= (leap[:-1] < -by) & (leap[1:] > by)
    return far


def _fractions(humid: FloatArray) -> BoolArray:
    """Find runs of hours of at most 1 %, in a record that knows damper air."""
    low = humid <= FRACTION
    if not low.any() or not (humid > 10.0).any():
        return np.zeros(humid.size, dtype=bool)
    edges = np.flatnonzero(np.diff(np.concatenate(([False], low, [False]))))
    begins, ends = edges[::2], edges[1::2]
    gone = np.zeros(humid.size, dtype=bool)
    for begin, end in zip(begins, ends, strict=True):
        gone[begin:end] = end - begin >= RUN
    return gone


def _repeated_days(t: FloatArray) -> list[Repair]:
    """Find temperatures that change but once a day."""
    steps = np.diff(t)
    known = np.isfinite(steps)
    if known.sum() < 10 * 24 or np.mean(steps[known] == 0.0) < SAME:
        return []
    change = np.flatnonzero((steps != 0.0) & known) + 1
    lengths = np.diff(change)
    if lengths.size < 5 or np.mean(lengths % 24 == 0) < 0.8:
        return []
    return [repair(RepairKind.DAYS_REPEATED, int(lengths.size + 1))]


def _swapped_days(time: TimeArray, t: FloatArray) -> list[Repair]:
    """Find days 1 to 12 of the months out of season: month and day were swapped."""
    days = time.astype("datetime64[D]")
    first = days[0]
    at = (days - first).astype(np.int64)
    known = np.isfinite(t)
    count = np.bincount(at, known)
    if np.count_nonzero(count >= 4) < 300:
        return []
    with np.errstate(invalid="ignore"):
        mean = np.bincount(at, np.where(known, t, 0.0)) / np.where(count, count, np.nan)
    apart = np.abs(np.diff(mean))
    dates = first + np.arange(1, mean.size)
    number = (dates - dates.astype("datetime64[M]").astype("datetime64[D]")).astype(int)
    early = apart[(number >= 1) & (number <= 11) & np.isfinite(apart)]
    later = apart[(number >= 13) & (number <= 27) & np.isfinite(apart)]
    if min(early.size, later.size) < 60 or early.mean() <= ROUGHER * later.mean():
        return []
    return [repair(RepairKind.DATES_SWAPPED, ratio=float(early.mean() / later.mean()))]


def _clock(
    time: TimeArray, t: FloatArray, sun: FloatArray | None, longitude: float
) -> list[Repair]:
    """Find a clock that the sun, or the warmest hour of the day, does not bear out."""
    minutes = (time - time.astype("datetime64[D]")).astype("timedelta64[m]")
    solar = (minutes.astype(np.float64) / 60.0 + 0.5 + longitude / 15.0) % 24.0
    if sun is not None and np.isfinite(sun).sum() > 10 * 24 and np.nansum(sun) > 0.0:
        noon, share = _middle(solar, np.nan_to_num(sun))
        off = (noon - 12.0 + 12.0) % 24.0 - 12.0
        if share > 0.2 and abs(off) > NOON_OFF:
            return [repair(RepairKind.CLOCK_DOUBTFUL, by="sun", hour=noon, off=off)]
        if share > 0.2:
            return []
    known = np.isfinite(t)
    if known.sum() < 60 * 24:
        return []
    angle = np.exp(2j * np.pi * solar[known] / 24.0)
    wave = 2.0 * np.mean((t[known] - t[known].mean()) * angle)
    warmest = float(np.angle(wave) * 24.0 / (2.0 * np.pi) % 24.0)
    if abs(wave) < SWING or WARMEST[0] <= warmest <= WARMEST[1]:
        return []
    off = (warmest - 15.0 + 12.0) % 24.0 - 12.0
    return [repair(RepairKind.CLOCK_DOUBTFUL, by="warmth", hour=warmest, off=off)]


def _middle(solar: FloatArray, weight: FloatArray) -> tuple[float, float]:
    """Return the middle hour of a day's course, and how much it is gathered there."""
    mean = np.sum(weight * np.exp(2j * np.pi * solar / 24.0)) / np.sum(weight)
    return float(np.angle(mean) * 24.0 / (2.0 * np.pi) % 24.0), float(abs(mean))
