"""Fill observations from a reanalysis, its bias taken off; join a forecast."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import numpy as np
import xarray as xr

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.moist_air import relative_humidity, vapour_pressure
from emcforecast.weather.mend.gaps import bridge_short
from emcforecast.weather.repairs import (
    Repair,
    RepairKind,
    add_repairs,
    counted,
    repair,
    repairs_of,
)
from emcforecast.weather.series import ONE_YEAR_KINDS, VARIABLES, make_series

Months = IntArray

LEAST_OVERLAP = 14 * 24
"""Hours in common below which no bias can be estimated."""
PLACE = ("latitude", "longitude", "elevation", "utc_offset")
LEAST_MONTH = 5 * 24
"""Hours in common below which a calendar month borrows the bias of the year."""
_HOUR = np.timedelta64(1, "h")
FORECAST_FROM = "forecast_from"
"""Attribute of a series: UTC hour (ISO) from which on its rows are a forecast."""
AHEAD_DAYS = 16
"""As far as archives forecast."""
LEAST_RECORD = 340 * 24
"""Hours before now without which the rest is no forecast but a year by another name."""


def merge_weather(
    observed: xr.Dataset, other: xr.Dataset, *, extend: bool = False
) -> xr.Dataset:
    """Fill what observations lack from another series of the same place.

    Both are hourly series, `observed` with NaN where missing (read with
    ``gaps="keep"``), `other` mostly a reanalysis; `extend` also takes the hours before
    and after. Every filled hour is counted in ``attrs["repairs"]``. Raises
    `WeatherError` when the two share fewer than 14 days, or are not hourly years.

    Notes
    -----
    For each calendar month: temperature is shifted by the mean difference, vapour
    pressure scaled by the ratio of means, over the hours both have. Relative humidity
    is worked out last and never corrected by itself, which would break it wherever the
    two temperatures differ. Gaps of up to 6 h are bridged in the observations first.
    """
    for name, ds in (("observations", observed), ("other series", other)):
        if ds.attrs["step"] != "hour" or ds.attrs["kind"] in ONE_YEAR_KINDS:
            raise WeatherError(
                _(
                    "the {name} are {kind} by the {step}; only hourly weather of "
                    "real years can be merged",
                    name=name,
                    kind=ds.attrs["kind"],
                    step=ds.attrs["step"],
                )
            )
    observed, repairs = bridge_short(observed)
    axis = observed["time"].to_numpy()
    if extend:
        both = (axis, other["time"].to_numpy())
        begin, end = min(t[0] for t in both), max(t[-1] for t in both)
        axis = begin + np.arange(int((end - begin) / _HOUR) + 1) * _HOUR
    ours, theirs = observed.reindex(time=axis), other.reindex(time=axis)
    month = axis.astype("datetime64[M]").astype(np.int64) % 12
    temperature, vapour = _temperature_and_vapour(ours)
    their_temperature, their_vapour = _temperature_and_vapour(theirs)
    shared = np.isfinite(temperature + vapour + their_temperature + their_vapour)
    if int(shared.sum()) < LEAST_OVERLAP:
        raise WeatherError(
            _(
                "the two series share {count} hours; at least "
                "{least_overlap} (14 days) are needed to tell the bias: get "
                "more of the other series",
                count=int(shared.sum()),
                least_overlap=LEAST_OVERLAP,
            )
        )
    shift, borrowed = _by_month(month, shared, temperature - their_temperature)
    ratio = _ratio_by_month(month, shared, vapour, their_vapour)
    corrected = their_temperature + shift[month]
    need = ~np.isfinite(temperature + vapour)
    full_temperature = np.where(need, corrected, temperature)
    full_vapour = np.where(need, their_vapour * ratio[month], vapour)
    humid = relative_humidity(full_temperature, full_vapour)
    humid = np.where(need, humid, ours["relative_humidity"].to_numpy())
    filled = need & np.isfinite(humid)
    over = filled & (humid > 100.0)
    values = {
        "air_temperature": full_temperature,
        "relative_humidity": np.minimum(humid, 100.0),
    }
    repairs += _merge_repairs(
        observed, other, filled, shift, ratio, borrowed, int(over.sum())
    )
    for name in VARIABLES:
        if name not in values and (name in ours or name in theirs):
            values[name], more = _filled_variable(name, ours, theirs)
            repairs += more
    attrs = {**observed.attrs, "repairs": [*repairs_of(observed), *repairs]}
    # What the observations do not know of their place, and where a forecast begins.
    for name in (*PLACE, "forecast_from"):
        if name in other.attrs:
            attrs.setdefault(name, other.attrs[name])
    for name in ("licence", "attribution"):
        texts = [ds.attrs.get(name, "") for ds in (observed, other)]
        attrs[name] = "; ".join(dict.fromkeys(text for text in texts if text))
    attrs["source"] = f"{observed.attrs['source']}, filled from {other.attrs['source']}"
    return make_series(axis, values, **attrs)


def _temperature_and_vapour(ds: xr.Dataset) -> tuple[FloatArray, FloatArray]:
    temperature = ds["air_temperature"].to_numpy()
    return temperature, vapour_pressure(temperature, ds["relative_humidity"].to_numpy())


def _by_month(
    month: Months, shared: BoolArray, difference: FloatArray
) -> tuple[FloatArray, list[int]]:
    count = np.bincount(month[shared], minlength=12)
    total = np.bincount(month[shared], difference[shared], minlength=12)
    enough = count >= LEAST_MONTH
    overall = float(difference[shared].mean())
    borrowed = np.flatnonzero(~enough)
    mean = np.where(enough, total / np.maximum(count, 1), overall)
    return mean, [int(index) + 1 for index in borrowed]


def _ratio_by_month(
    month: Months, shared: BoolArray, ours: FloatArray, theirs: FloatArray
) -> FloatArray:
    count = np.bincount(month[shared], minlength=12)
    above = np.bincount(month[shared], ours[shared], minlength=12)
    below = np.bincount(month[shared], theirs[shared], minlength=12)
    overall = above.sum() / below.sum()
    result: FloatArray = np.where(
        count >= LEAST_MONTH, above / np.where(below > 0.0, below, 1.0), overall
    )
    return result


def _merge_repairs(
    observed: xr.Dataset,
    other: xr.Dataset,
    filled: BoolArray,
    shift: FloatArray,
    ratio: FloatArray,
    borrowed: list[int],
    over: int,
) -> list[Repair]:
    found = [
        repair(
            RepairKind.FILLED_FROM_OTHER,
            int(filled.sum()),
            of=filled.size,
            source=other.attrs["source"],
            least_shift=float(shift.min()),
            most_shift=float(shift.max()),
            least_ratio=float(ratio.min()),
            most_ratio=float(ratio.max()),
        )
    ]
    if borrowed:
        months = ", ".join(map(str, borrowed))
        found.append(repair(RepairKind.BIAS_OF_OVERLAP, months=months))
    return found + counted(RepairKind.FILLED_CAPPED, over)


def _filled_variable(
    name: str, ours: xr.Dataset, theirs: xr.Dataset
) -> tuple[FloatArray, list[Repair]]:
    if name not in theirs:
        return ours[name].to_numpy(), []
    fill = theirs[name].to_numpy()
    if name not in ours:
        return fill, [repair(RepairKind.TAKEN_FROM_OTHER, None, name)]
    values = ours[name].to_numpy()
    use = ~np.isfinite(values) & np.isfinite(fill)
    if not use.any():
        return values, []
    return np.where(use, fill, values), [
        repair(RepairKind.FILLED_UNCORRECTED, int(use.sum()), name)
    ]


def this_hour() -> np.datetime64:
    """Return the hour that begins next, UTC: what is before it has been weather."""
    now = datetime.now(UTC).replace(tzinfo=None)
    return np.datetime64(now, "h") + np.timedelta64(1, "h")


def mark_forecast(series: xr.Dataset, now: np.datetime64 | None = None) -> xr.Dataset:
    """Mark the hours of a series that nobody can have measured yet.

    `now`: first hour (UTC) that is still to come; the clock's when left out.
    """
    if series.attrs["step"] != "hour" or series.attrs["kind"] in ONE_YEAR_KINDS:
        return series
    begins = (this_hour() if now is None else now).astype("datetime64[h]")
    stamps = series["time"].to_numpy()
    ahead = int(np.count_nonzero(stamps >= begins))
    if ahead == 0 or stamps.size - ahead < LEAST_RECORD:
        return series
    series = series.assign_attrs({FORECAST_FROM: str(begins)})
    return add_repairs(
        series, repair(RepairKind.FORECAST_HOURS, ahead, begins=str(begins))
    )


def without_forecast(series: xr.Dataset) -> xr.Dataset:
    """Return a series without the weather forecast at its end."""
    begins = series.attrs.get(FORECAST_FROM)
    if begins is None:
        return series
    before = series["time"].to_numpy() < np.datetime64(begins, "ns")
    alone = series.isel(time=np.flatnonzero(before))
    alone.attrs = {k: v for k, v in series.attrs.items() if k != FORECAST_FROM}
    return alone


def note_far_future(series: xr.Dataset) -> xr.Dataset:
    """Note hours farther ahead than any forecast: a wrong clock, or a projection."""
    stamps = series["time"].to_numpy()
    far = this_hour() + np.timedelta64(AHEAD_DAYS, "D")
    many = int(np.count_nonzero(stamps > far))
    if not many or series.attrs["kind"] in ONE_YEAR_KINDS:
        return series
    return add_repairs(
        series,
        repair(
            RepairKind.FAR_FUTURE,
            many,
            of=stamps.size,
            step=series.attrs["step"],
            last=str(stamps[-1])[:10],
        ),
    )


def join_forecast(
    record: xr.Dataset, ahead: xr.Dataset, now: np.datetime64 | None = None
) -> xr.Dataset:
    """Join a weather forecast to a record, the forecast's bias taken off.

    `record`: hourly, up to some days ago, NaN where missing; `ahead`: hours of the same
    place, the weeks past and the days to come; `now` as in `mark_forecast`. Returns one
    hourly series with ``attrs["forecast_from"]``. Raises `WeatherError` when the two
    share fewer than 14 days, so that no bias can be estimated.

    Notes
    -----
    Between the end of the record and now the other source's own past days stand in.
    Both are corrected by the differences over the hours the two share, as in
    `emcforecast.weather.mend.merge.merge_weather`.
    """
    known = np.isfinite(record["air_temperature"].to_numpy())
    ends = record["time"].to_numpy()[np.flatnonzero(known)[-1]] if known.any() else None
    begins = ahead["time"].to_numpy()[0]
    if ends is None or ends < begins + np.timedelta64(LEAST_OVERLAP, "h"):
        last = "no hour" if ends is None else str(ends)[:10]
        raise WeatherError(
            _(
                "the record holds {last} and the forecast begins with "
                "{begins}: 14 days in common are needed to join them; ask "
                "for years up to this one",
                last=last,
                begins=str(begins)[:10],
            )
        )
    joined = merge_weather(record, ahead, extend=True)
    return mark_forecast(joined, now)


def recent_span(today: date | None = None) -> tuple[date, date]:
    """Return the first and last day of a forecast that is asked for today."""
    first = today or date.today()
    return first, first + timedelta(days=AHEAD_DAYS - 1)
