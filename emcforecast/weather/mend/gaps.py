"""Fill short gaps of an hourly series; refuse or leave out months with long ones."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import BoolArray, FloatArray
from emcforecast.errors import WeatherError
from emcforecast.language import _, n_
from emcforecast.physics.moist_air import relative_humidity, vapour_pressure
from emcforecast.weather.repairs import (
    Repair,
    RepairKind,
    add_repairs,
    counted,
    repair,
)
from emcforecast.weather.series import ONE_YEAR_KINDS, check_contract
from emcforecast.weather.years import place_time

SHORT_GAP = 6
"""Longest gap (h) bridged by a straight line."""
WORST_MONTH = 0.10
"""Largest share of a month's hours that may be filled from neighbouring days."""
MOSTLY = 0.5
"""Least share of the hours of a record that are there, lest it be called thin."""
NEIGHBOURS = 7
"""How many days away a neighbouring day may be."""


def fill_gaps(ds: xr.Dataset) -> xr.Dataset:
    """Fill what is missing of an hourly series, listing every repair.

    Gaps of up to `SHORT_GAP` hours are bridged in temperature and vapour pressure,
    longer ones taken from the same hours of the days around, stretches with worse
    months left out. Raises `WeatherError` when a month lacks more than `WORST_MONTH` of
    its hours and no whole year remains beside it.
    """
    names = [str(name) for name in ds.data_vars]
    if ds.attrs["step"] != "hour" or not any(
        bool(np.isnan(ds[name].to_numpy()).any()) for name in names
    ):
        return ds
    repairs: list[Repair] = []
    cyclic = ds.attrs["kind"] in ONE_YEAR_KINDS
    temperature = ds["air_temperature"].to_numpy()
    humidity = ds["relative_humidity"].to_numpy()
    missing = ~(np.isfinite(temperature) & np.isfinite(humidity))
    if not cyclic and (missing[0] or missing[-1]):
        return fill_gaps(_trim(ds, missing))
    span = slice(0, missing.size)
    if missing.any():
        short = _in_short_runs(missing, cyclic=cyclic)
        span, repairs = _usable(ds, missing & ~short, cyclic=cyclic)
        ds = ds.isel(time=span)
        missing = missing[span]
        filled, more = _filled_air(
            temperature[span], humidity[span], short[span], missing, cyclic=cyclic
        )
        repairs += more
        for name, values in filled.items():
            ds = ds.assign({name: ("time", values, ds[name].attrs)})
    for name in names:
        if name not in ("air_temperature", "relative_humidity"):
            ds, more = _filled_other(ds, name, cyclic=cyclic)
            repairs += more
    ds = add_repairs(ds, *repairs)
    check_contract(ds)
    return ds


def bridge_short(ds: xr.Dataset) -> tuple[xr.Dataset, list[Repair]]:
    """Bridge gaps of up to `SHORT_GAP` hours and leave longer ones."""
    temperature = ds["air_temperature"].to_numpy()
    humidity = ds["relative_humidity"].to_numpy()
    missing = ~(np.isfinite(temperature) & np.isfinite(humidity))
    short = _in_short_runs(missing, cyclic=ds.attrs["kind"] in ONE_YEAR_KINDS)
    if not short.any():
        return ds, []
    filled, found = _filled_air(temperature, humidity, short, short, cyclic=False)
    for name, values in filled.items():
        ds = ds.assign({name: ("time", values, ds[name].attrs)})
    return ds, found


def _trim(ds: xr.Dataset, missing: BoolArray) -> xr.Dataset:
    known = np.flatnonzero(~missing)
    if not known.size:
        raise WeatherError(
            _("no hour has both temperature and humidity; check the two columns")
        )
    span = slice(int(known[0]), int(known[-1]) + 1)
    lost = missing.size - (span.stop - span.start)
    return add_repairs(ds.isel(time=span), repair(RepairKind.ENDS_TRIMMED, lost))


def _runs(missing: BoolArray) -> tuple[npt.NDArray[np.intp], ...]:
    edge = np.diff(np.concatenate(([0], missing.astype(np.int8), [0])))
    return np.flatnonzero(edge == 1), np.flatnonzero(edge == -1)


def _in_short_runs(missing: BoolArray, *, cyclic: bool) -> BoolArray:
    begin, end = _runs(missing)
    short = np.zeros(missing.size, dtype=bool)
    for first, last in zip(begin, end, strict=True):
        inside = cyclic or (first > 0 and last < missing.size)
        if inside and last - first <= SHORT_GAP:
            short[first:last] = True
    return short


def _usable(
    ds: xr.Dataset, gone: BoolArray, *, cyclic: bool
) -> tuple[slice, list[Repair]]:
    """Return the longest stretch without a month too full of holes."""
    stamps = place_time(ds)
    months = stamps.astype("datetime64[M]").astype(np.int64)
    months -= months[0]
    first = stamps[0].astype("datetime64[M]")
    every = first + np.arange(int(months[-1]) + 1)
    total = (every + np.timedelta64(1, "M")).astype("datetime64[h]") - every.astype(
        "datetime64[h]"
    )
    share = np.bincount(months, weights=gone) / total.astype(np.int64)
    bad = share > WORST_MONTH
    if not bad.any():
        return slice(0, gone.size), []
    first_bad = int(np.flatnonzero(bad)[0])
    name = str(stamps[0].astype("datetime64[M]") + np.timedelta64(first_bad, "M"))
    reason = _(
        "{month} lacks {lacking:.1f} % of its hours (at most {most:.0f} % can be "
        "filled)",
        month=name,
        lacking=100 * share[first_bad],
        most=100 * WORST_MONTH,
    )
    if cyclic:
        raise WeatherError(
            _("{reason}; a typical year must be complete", reason=reason)
        )
    begin, end = _runs(~bad[months])
    longest = int(np.argmax(end - begin)) if begin.size else -1
    if longest < 0 or end[longest] - begin[longest] < 8760:
        air = ds["air_temperature"].to_numpy() + ds["relative_humidity"].to_numpy()
        known = int(np.count_nonzero(np.isfinite(air)))
        if known < MOSTLY * gone.size:
            first, last = (str(at.astype("datetime64[D]")) for at in stamps[[0, -1]])
            raise WeatherError(
                _(
                    "only {known} of the {count} hours from {first} to {last} "
                    "have temperature and humidity; give the whole record, or "
                    "fill it from an archive",
                    known=known,
                    count=gone.size,
                    first=first,
                    last=last,
                )
            )
        raise WeatherError(
            _(
                "{reason} and no whole year is left beside such months; add "
                "the missing readings, fill them from an archive, or cut the "
                "file at the gap",
                reason=reason,
            )
        )
    span = slice(int(begin[longest]), int(end[longest]))
    left = gone.size - (span.stop - span.start)
    begins, ends = (str(stamps[i])[:10] for i in (span.start, span.stop - 1))
    return span, [
        repair(
            RepairKind.THIN_MONTHS,
            int(bad.sum()),
            percent=100.0 * WORST_MONTH,
            first=name,
            begin=begins,
            end=ends,
            left_out=left,
        )
    ]


def _filled_air(
    temperature: FloatArray,
    humidity: FloatArray,
    short: BoolArray,
    missing: BoolArray,
    *,
    cyclic: bool,
) -> tuple[dict[str, FloatArray], list[Repair]]:
    e_pa = vapour_pressure(temperature, humidity)
    found = counted(
        RepairKind.GAPS_BRIDGED, int(np.count_nonzero(short)), limit=SHORT_GAP
    )
    period = float(missing.size) if cyclic else None
    if found:
        temperature = _bridged(temperature, short, period)
        e_pa = _bridged(e_pa, short, period)
    long = missing & ~short
    count = int(np.count_nonzero(long))
    if count:
        temperature = _from_neighbours(temperature, cyclic=cyclic)
        e_pa = _from_neighbours(e_pa, cyclic=cyclic)
        found.append(repair(RepairKind.GAPS_OF_NEIGHBOURS, count))
        lost = int(np.count_nonzero(~np.isfinite(temperature + e_pa)))
        if lost:
            raise WeatherError(
                n_(
                    "{count} hour could not be filled from the {neighbours} days "
                    "around; add the missing readings or cut the file",
                    "{count} hours could not be filled from the {neighbours} days "
                    "around; add the missing readings or cut the file",
                    lost,
                    neighbours=NEIGHBOURS,
                )
            )
    humid = np.minimum(relative_humidity(temperature, e_pa), 100.0)
    return {
        "air_temperature": temperature,
        "relative_humidity": np.where(missing, humid, humidity),
    }, found


def _bridged(values: FloatArray, where: BoolArray, period: float | None) -> FloatArray:
    known = np.isfinite(values)
    index = np.arange(values.size, dtype=np.float64)
    todo = where & ~known
    out = values.copy()
    out[todo] = np.interp(index[todo], index[known], values[known], period=period)
    return out


def _from_neighbours(values: FloatArray, *, cyclic: bool) -> FloatArray:
    """Fill each missing hour with the mean of its nearest days either side."""
    todo = np.flatnonzero(~np.isfinite(values))
    sides = []
    for sign in (-1, 1):
        found = np.full(todo.size, np.nan)
        for day in range(1, NEIGHBOURS + 1):
            at = todo + sign * 24 * day
            inside = (at >= 0) & (at < values.size)
            at = at % values.size if cyclic else np.clip(at, 0, values.size - 1)
            take = ~np.isfinite(found) & (inside | cyclic)
            found[take] = values[at[take]]
        sides.append(found)
    before, after = sides
    out = values.copy()
    out[todo] = np.where(
        np.isfinite(before) & np.isfinite(after),
        0.5 * (before + after),
        np.where(np.isfinite(before), before, after),
    )
    return out


def _filled_other(
    ds: xr.Dataset, name: str, *, cyclic: bool
) -> tuple[xr.Dataset, list[Repair]]:
    values = ds[name].to_numpy()
    lost = ~np.isfinite(values)
    count = int(np.count_nonzero(lost))
    if not count:
        return ds, []
    if count > 0.5 * values.size and name != "precipitation":
        return ds.drop_vars(name), [repair(RepairKind.MOSTLY_MISSING, count, name)]
    if name == "precipitation":
        values = np.where(lost, 0.0, values)
        kind = RepairKind.NO_RAIN_ASSUMED
    else:
        period = float(values.size) if cyclic else None
        values = _bridged(values, _in_short_runs(lost, cyclic=cyclic), period)
        values = _from_neighbours(values, cyclic=cyclic)
        values = np.where(np.isfinite(values), values, np.nanmedian(values))
        kind = RepairKind.FILLED_AROUND
    ds = ds.assign({name: ("time", values, ds[name].attrs)})
    return ds, [repair(kind, count, name)]
