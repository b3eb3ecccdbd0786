"""Fill the gaps of observations from a reanalysis, its bias taken off by month."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import relative_humidity, vapour_pressure
from emcforecast.weather.mend.gaps import bridge_short
from emcforecast.weather.mend.words import plain_count
from emcforecast.weather.series import ONE_YEAR_KINDS, VARIABLES, make_series

Months = npt.NDArray[np.int64]

LEAST_OVERLAP = 14 * 24
"""Hours in common below which no bias can be told."""
PLACE = ("latitude", "longitude", "elevation", "utc_offset")
LEAST_MONTH = 5 * 24
"""Hours in common below which a calendar month borrows the bias of the year."""


def merge_weather(
    observed: xr.Dataset, other: xr.Dataset, *, extend: bool = False
) -> xr.Dataset:
    """Fill what observations lack from another series of the same place.

    Parameters
    ----------
    observed : xarray.Dataset
        Hourly weather series, NaN where missing (read with ``gaps="keep"``).
    other : xarray.Dataset
        Hourly weather series, mostly a reanalysis.
    extend : bool
        Also take the hours before and after the observations.

    Returns
    -------
    xarray.Dataset
        Hourly series; every filled hour is counted in ``attrs["repairs"]``.

    Raises
    ------
    WeatherError
        When the two share fewer than 14 days, or are not hourly years.

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
                f"the {name} are {ds.attrs['kind']} by the {ds.attrs['step']}; only "
                "hourly weather of real years can be merged"
            )
    observed, notes = bridge_short(observed)
    axis = observed["time"].to_numpy()
    if extend:
        both = (axis, other["time"].to_numpy())
        begin, end = min(t[0] for t in both), max(t[-1] for t in both)
        axis = begin + np.arange(int((end - begin) / _HOUR) + 1) * _HOUR
    ours, theirs = observed.reindex(time=axis), other.reindex(time=axis)
    month = axis.astype("datetime64[M]").astype(np.int64) % 12
    warm, damp = _air(ours)
    their_warm, their_damp = _air(theirs)
    shared = np.isfinite(warm + damp + their_warm + their_damp)
    if int(shared.sum()) < LEAST_OVERLAP:
        raise WeatherError(
            f"the two series share {int(shared.sum())} hours; at least "
            f"{LEAST_OVERLAP} (14 days) are needed to tell the bias: get more of the "
            "other series"
        )
    shift, borrowed = _by_month(month, shared, warm - their_warm)
    ratio = _ratio_by_month(month, shared, damp, their_damp)
    corrected = their_warm + shift[month]
    need = ~np.isfinite(warm + damp)
    full_warm = np.where(need, corrected, warm)
    full_damp = np.where(need, their_damp * ratio[month], damp)
    humid = relative_humidity(full_warm, full_damp)
    humid = np.where(need, humid, ours["relative_humidity"].to_numpy())
    filled = need & np.isfinite(humid)
    over = filled & (humid > 100.0)
    values = {
        "air_temperature": full_warm,
        "relative_humidity": np.minimum(humid, 100.0),
    }
    notes += _told(observed, other, filled, shift, ratio, borrowed, int(over.sum()))
    for name in VARIABLES:
        if name not in values and (name in ours or name in theirs):
            values[name], words = _other(name, ours, theirs)
            notes += words
    attrs = {**observed.attrs, "repairs": [*observed.attrs["repairs"], *notes]}
    # What the observations do not know of their place, and where a forecast begins.
    for name in (*PLACE, "forecast_from"):
        if name in other.attrs:
            attrs.setdefault(name, other.attrs[name])
    for name in ("licence", "attribution"):
        texts = [ds.attrs.get(name, "") for ds in (observed, other)]
        attrs[name] = "; ".join(dict.fromkeys(text for text in texts if text))
    attrs["source"] = f"{observed.attrs['source']}, filled from {other.attrs['source']}"
    return make_series(axis, values, **attrs)


_HOUR = np.timedelta64(1, "h")


def _air(ds: xr.Dataset) -> tuple[FloatArray, FloatArray]:
    warm = ds["air_temperature"].to_numpy()
    return warm, vapour_pressure(warm, ds["relative_humidity"].to_numpy())


def _by_month(
    month: Months, shared: npt.NDArray[np.bool_], difference: FloatArray
) -> tuple[FloatArray, list[int]]:
    count = np.bincount(month[shared], minlength=12)
    total = np.bincount(month[shared], difference[shared], minlength=12)
    enough = count >= LEAST_MONTH
    overall = float(difference[shared].mean())
    borrowed = np.flatnonzero(~enough)
    mean = np.where(enough, total / np.maximum(count, 1), overall)
    return mean, [int(index) + 1 for index in borrowed]


def _ratio_by_month(
    month: Months, shared: npt.NDArray[np.bool_], ours: FloatArray, theirs: FloatArray
) -> FloatArray:
    count = np.bincount(month[shared], minlength=12)
    above = np.bincount(month[shared], ours[shared], minlength=12)
    below = np.bincount(month[shared], theirs[shared], minlength=12)
    overall = above.sum() / below.sum()
    result: FloatArray = np.where(
        count >= LEAST_MONTH, above / np.where(below > 0.0, below, 1.0), overall
    )
    return result


def _told(
    observed: xr.Dataset,
    other: xr.Dataset,
    filled: npt.NDArray[np.bool_],
    shift: FloatArray,
    ratio: FloatArray,
    borrowed: list[int],
    over: int,
) -> list[str]:
    count = int(filled.sum())
    notes = [
        f"{plain_count(count, 'hour')} of {filled.size} filled from "
        f"{other.attrs['source']}: temperature shifted by {shift.min():+.2f} to "
        f"{shift.max():+.2f} K and vapour pressure scaled by {ratio.min():.3f} to "
        f"{ratio.max():.3f}, by calendar month"
    ]
    if borrowed:
        notes.append(
            f"months {', '.join(map(str, borrowed))} have too few hours in common: "
            "the bias of the whole overlap was used"
        )
    if over:
        notes.append(f"{plain_count(over, 'filled hour')} above 100 % capped")
    return notes


def _other(
    name: str, ours: xr.Dataset, theirs: xr.Dataset
) -> tuple[FloatArray, list[str]]:
    words = name.replace("_", " ")
    if name not in theirs:
        return ours[name].to_numpy(), []
    fill = theirs[name].to_numpy()
    if name not in ours:
        return fill, [f"{words} taken from the other series throughout"]
    values = ours[name].to_numpy()
    use = ~np.isfinite(values) & np.isfinite(fill)
    if not use.any():
        return values, []
    return np.where(use, fill, values), [
        f"{plain_count(int(use.sum()), 'hour')} of {words} filled, uncorrected"
    ]
