"""Monthly means -> a monthly series; a month that no climate has beside its like."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.moist_air import relative_humidity, vapour_pressure
from emcforecast.weather.mend.plausible import humidity_doubt
from emcforecast.weather.mend.quality import without_impossible
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, repair
from emcforecast.weather.series import ONE_YEAR_KINDS, make_series

MEANS_APART = {"air_temperature": 10.0, "relative_humidity": 20.0}
"""K, %: how far a month of a mean year may stand off both its neighbours."""
MONTHS_APART = {"air_temperature": 15.0, "relative_humidity": 30.0}
"""The same for the months of single years; what was measured: docs/robustness.md."""


def monthly_series(
    time: npt.ArrayLike,
    variables: Mapping[str, npt.ArrayLike],
    *,
    kind: str,
    source: str,
    repairs: Iterable[Repair] = (),
    daily_range: FloatArray | None = None,
    **place: Any,
) -> xr.Dataset:
    """Build the series of monthly means as they come.

    `time`: within each month, any order; `variables`: series units, precipitation the
    month's sum (mm). `daily_range`: K, one a month. `place`: further arguments of
    `make_series`. Temperature and humidity may still lack months, other variables that
    do are left out. Raises `WeatherError` for a month that comes twice or not at all.
    """
    months = np.asarray(time, dtype="datetime64[M]")
    order = np.argsort(months, kind="stable")
    months = months[order]
    if (np.diff(months) == np.timedelta64(0, "M")).any():
        raise WeatherError(_("a month comes twice in the file; keep one row a month"))
    given = {name: np.asarray(values)[order] for name, values in variables.items()}
    clean, found = without_impossible(given, each="month")
    done = [*repairs, *found]
    for name in [n for n in clean if not np.isfinite(clean[n]).all()]:
        if name not in ("air_temperature", "relative_humidity"):
            del clean[name]
            done.append(repair(RepairKind.MONTHS_LACKING, None, name))
    if daily_range is not None:
        place["daily_range"] = [float(span) for span in daily_range[order]]
    far: list[Repair] = []
    if {"air_temperature", "relative_humidity"} <= set(clean):
        far += humidity_doubt(clean["relative_humidity"], 12)
        far += _far_months(months, clean, kind)
    return make_series(
        months.astype("datetime64[ns]"),
        clean,
        step="month",
        kind=kind,
        source=source,
        repairs=[*done, *far],
        **place,
    )


def require_every_month(series: xr.Dataset) -> None:
    """Refuse monthly means with a month that lacks its temperature or humidity."""
    for name in ("air_temperature", "relative_humidity"):
        gone = ~np.isfinite(series[name].to_numpy())
        if gone.any():
            when = str(series["time"].to_numpy()[gone][0].astype("datetime64[M]"))
            raise WeatherError(
                _(
                    "{when} has no {name}; every month needs one: fill it in or "
                    "cut the file there",
                    when=when,
                    name=quantity_name(name),
                )
            )


def _far_months(
    months: npt.NDArray[np.datetime64], values: Mapping[str, FloatArray], kind: str
) -> list[Repair]:
    """Say which months stand far off the months before and after, as no climate does.

    A month's humidity is off by the least of four differences of one sign: from that of
    either neighbour, and from what the water in either's air would make of the month's
    temperature. So neither the step of a rainy season nor the heat before it is.
    """
    cyclic = kind in ONE_YEAR_KINDS
    most = MEANS_APART if cyclic else MONTHS_APART
    warm, humid = (values[name] for name in ("air_temperature", "relative_humidity"))
    water = vapour_pressure(warm, humid)
    off = {"air_temperature": _least([warm - near for near in _beside(warm)])}
    off["relative_humidity"] = _least(
        [humid - near for near in _beside(humid)]
        + [
            humid - np.minimum(relative_humidity(warm, near), 100.0)
            for near in _beside(water)
        ]
    )
    found = []
    for name, by in off.items():
        far = by > most[name]
        if far.any():
            worst = int(np.nanargmax(by))
            before, after = (float(near[worst]) for near in _beside(values[name]))
            found.append(
                repair(
                    RepairKind.MONTHS_FAR_OFF,
                    int(far.sum()),
                    name,
                    month=str(months[worst])[5:] if cyclic else str(months[worst]),
                    value=float(values[name][worst]),
                    before=before,
                    after=after,
                )
            )
    return found


def _beside(values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the months before and after each.

    At the ends of a record the month of that name of the nearest year stands for the
    one that is not there, NaN in less than a year.
    """
    whole = values.size >= 12
    first, last = (values[11], values[-12]) if whole else (np.nan, np.nan)
    return np.append(first, values[:-1]), np.append(values[1:], last)


def _least(differences: list[FloatArray]) -> FloatArray:
    """Return the least size of differences of one sign, 0 where they are of two."""
    every = np.stack(differences)
    one_sign = (every > 0.0).all(axis=0) | (every < 0.0).all(axis=0)
    result: FloatArray = np.where(one_sign, np.abs(every).min(axis=0), 0.0)
    return result
