"""From a weather series to what drives a storage place, falling back in steps."""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics import ground, sky, sun
from emcforecast.physics.air_node import DRIVERS
from emcforecast.physics.moist_air import (
    saturation_vapour_pressure,
    vapour_pressure,
)
from emcforecast.physics.pieces import in_pieces
from emcforecast.weather.years import place_time

SHELTER = 0.6
"""Wind at a building over the wind at 10 m in the open."""
LEAST_WIND = 0.5
"""m/s: air at a building is never still, but anemometers stop at about 1 m/s."""
USUAL_WIND = 3.0
"""m/s at 10 m, where the weather has no wind: a mean of open land."""
WARMEST_HOUR = 15.0
"""Local solar time at which a day is warmest, to find the noon of an unknown place."""
USUAL_CLOUD = 0.6
"""Share of the sky covered when neither sun nor daily range tells."""
# A day with a lower clear-sky mean tells nothing about cloud (W/m²).
_DARK = 15.0


class FallbackKind(Enum):
    """What stands in for something that the weather does not have."""

    PLACE = "latitude taken"
    SUN = "no sun"
    SUN_HOURS = "sun missing in hours"
    WIND = "no wind"
    WIND_HOURS = "wind missing in hours"
    SNOW = "no precipitation for snow"
    RAIN = "no precipitation for rain"
    SHORT_SERIES = "shorter than a year"


@dataclass(frozen=True)
class Fallback:
    """One thing that stands in for missing weather.

    Parameters
    ----------
    hours : int
        Hours filled, where only some were missing.
    taken : float or None
        What was taken: degrees of latitude, or m/s.
    """

    kind: FallbackKind
    hours: int = 0
    taken: float | None = None


def fallbacks_to_text(fallbacks: Iterable[Fallback]) -> str:
    """Return fallbacks as the JSON text that a dataset's attribute holds.

    Examples
    --------
    >>> fallbacks_to_text([Fallback(FallbackKind.WIND, taken=3.0)])
    '[["no wind", 0, 3.0]]'
    """
    return json.dumps([[one.kind.value, one.hours, one.taken] for one in fallbacks])


def fallbacks_of(air: xr.Dataset) -> tuple[Fallback, ...]:
    """Return what stood in for missing weather in the air of a place."""
    rows = json.loads(air.attrs.get("fallbacks", "[]"))
    return tuple(Fallback(FallbackKind(kind), *rest) for kind, *rest in rows)


@dataclass(frozen=True)
class Drivers:
    """What the weather does to any storage place.

    Parameters
    ----------
    table : ndarray, shape (hours, 11)
        Columns as in `emcforecast.physics.air_node.DRIVERS`.
    fallbacks : tuple of Fallback
        What stands in for missing weather.
    """

    table: FloatArray
    fallbacks: tuple[Fallback, ...]

    def column(self, name: str) -> FloatArray:
        """Return one driver, shape (hours,)."""
        return self.table[:, DRIVERS.index(name)]


def drivers_of(weather: xr.Dataset) -> Drivers:
    """Return what drives a storage place, hour by hour.

    Parameters
    ----------
    weather : xarray.Dataset
        An hourly weather series.

    Returns
    -------
    Drivers
        Hours with a missing temperature or humidity are NaN.

    Raises
    ------
    WeatherError
        When the series is not hourly.

    Notes
    -----
    Sun: the series' own, else a clear sky's course scaled by the daily range of
    temperature. Cloud: from sun against a clear sky, by days. Wind: the series' own,
    else 3 m/s. Without a place the sun is taken at 45° latitude, noon nine hours
    before the mean coldest hour.
    """
    if weather.attrs.get("step", "hour") != "hour":
        raise WeatherError(
            _(
                "the air in a store is worked out hour by hour and this "
                "series is monthly: give hourly weather, or rebuild hours "
                "with hourly_from_monthly."
            )
        )
    time: TimeArray = weather["time"].to_numpy()
    t_o = weather["air_temperature"].to_numpy().astype(np.float64, copy=False)
    rh = weather["relative_humidity"].to_numpy().astype(np.float64, copy=False)
    notes: list[Fallback] = []
    course = ground.annual_course(time, t_o)
    latitude, longitude = _place(weather, t_o, notes)
    clear = sun.clear_sky(time, latitude, longitude)
    day = sun.solar_day(time, longitude)
    shortwave = _sun(weather, t_o, latitude, longitude, clear, day, notes)
    cloud = _cloud(shortwave, clear, day)
    del clear, day
    # Column by column, what is done with let go: of forty years each takes 3 MB.
    table = np.empty((time.size, len(DRIVERS)))
    table[:, 0] = t_o
    table[:, 3] = shortwave
    del shortwave
    e_o = in_pieces(vapour_pressure, t_o, rh)
    table[:, 1] = e_o
    table[:, 4] = in_pieces(sky.sky_loss, t_o, np.maximum(e_o, 1.0), cloud)
    del e_o, cloud
    wind = _wind(weather, time.size, notes)
    table[:, 2] = np.maximum(SHELTER * wind, LEAST_WIND)
    del wind
    table[:, 5] = in_pieces(sky.radiative_conductance, t_o)
    if course is None:
        notes.append(Fallback(FallbackKind.SHORT_SERIES))
    t_g = ground.ground_temperature(time, t_o, course)
    table[:, 6] = t_g
    table[:, 7] = in_pieces(saturation_vapour_pressure, t_g)
    table[:, 8] = _season(time, course, t_g)
    del t_g
    table[:, 9] = place_time(weather).astype("datetime64[M]").astype(np.int64) % 12
    table[:, 10] = _bare(weather, t_o, notes)
    return Drivers(table, tuple(notes))


def _place(
    weather: xr.Dataset,
    t_o: FloatArray,
    notes: list[Fallback],
) -> tuple[float, float]:
    latitude = weather.attrs.get("latitude")
    longitude = weather.attrs.get("longitude")
    if latitude is None:
        latitude = sun.usual_latitude(weather["time"].to_numpy(), t_o)
        notes.append(Fallback(FallbackKind.PLACE, taken=latitude))
    if longitude is None:
        offset = weather.attrs.get("utc_offset")
        if offset is not None:
            longitude = 15.0 * float(offset)
        else:
            longitude = 15.0 * (WARMEST_HOUR - _warmest_hour(weather, t_o))
            longitude = (longitude + 180.0) % 360.0 - 180.0
    return float(latitude), float(longitude)


def _warmest_hour(weather: xr.Dataset, t_o: FloatArray) -> float:
    """Hour of the day (UTC) at which the mean day is warmest, by its first harmonic."""
    hour = weather["time"].dt.hour.to_numpy()
    known = np.isfinite(t_o)
    angle = 2.0 * np.pi * (hour[known] + 0.5) / 24.0
    departure = t_o[known] - t_o[known].mean() if known.any() else np.zeros(0)
    s, c = (departure * np.sin(angle)).sum(), (departure * np.cos(angle)).sum()
    return float(np.arctan2(s, c) % (2.0 * np.pi) * 24.0 / (2.0 * np.pi))


def _sun(
    weather: xr.Dataset,
    t_o: FloatArray,
    latitude: float,
    longitude: float,
    clear: FloatArray,
    day: NDArray[np.intp],
    notes: list[Fallback],
) -> FloatArray:
    time: TimeArray = weather["time"].to_numpy()
    given = _given(weather, "shortwave")
    if given is not None and np.isfinite(given).all():
        return np.maximum(given, 0.0)
    low, high = _daily_extremes(t_o, day)
    estimate = sun.sun_from_daily_range(
        time, (high - low)[day], latitude, longitude, clear=clear
    )
    if given is None:
        notes.append(Fallback(FallbackKind.SUN))
        return estimate
    missing = ~np.isfinite(given)
    hours = int(np.count_nonzero(missing))
    notes.append(Fallback(FallbackKind.SUN_HOURS, hours))
    return np.where(missing, estimate, np.maximum(given, 0.0))


def _cloud(
    shortwave: FloatArray, clear: FloatArray, day: NDArray[np.intp]
) -> FloatArray:
    """Cloud by days from sun against a clear sky; dark days take their neighbours'."""
    hours = np.maximum(np.bincount(day), 1)
    full = np.bincount(day, clear) / hours
    cloud = sky.cloud_from_sun(np.bincount(day, shortwave) / hours, full)
    told = np.isfinite(cloud) & (full > _DARK)
    if not told.any():
        return np.full(shortwave.shape, USUAL_CLOUD)
    numbers = np.arange(cloud.size)
    filled = np.interp(numbers, numbers[told], cloud[told])
    # Far from any day that tells (polar night) a usual sky is the better guess.
    nearest = _distance(told)
    filled = np.where(nearest > 7, USUAL_CLOUD, filled)
    result: FloatArray = filled[day]
    return result


def _wind(weather: xr.Dataset, size: int, notes: list[Fallback]) -> FloatArray:
    given = _given(weather, "wind_speed")
    if given is None:
        notes.append(Fallback(FallbackKind.WIND, taken=USUAL_WIND))
        return np.full(size, USUAL_WIND)
    missing = ~np.isfinite(given)
    if missing.any():
        usual = float(given[~missing].mean())
        hours = int(np.count_nonzero(missing))
        notes.append(Fallback(FallbackKind.WIND_HOURS, hours, usual))
        given = np.where(missing, usual, given)
    return np.maximum(given, 0.0)


def _bare(weather: xr.Dataset, t_o: FloatArray, notes: list[Fallback]) -> FloatArray:
    """Share of sun and sky a roof sees through its snow."""
    fall = _given(weather, "precipitation")
    if fall is not None:
        return ground.bare_share(ground.snow_water(t_o, fall))
    if np.count_nonzero(t_o < -2.0) > 0.05 * t_o.size:
        notes.append(Fallback(FallbackKind.SNOW))
    return np.ones(t_o.size)


def _season(
    time: TimeArray, course: ground.AnnualCourse | None, t_g: FloatArray
) -> FloatArray:
    """Return 0 in the coldest and 1 in the warmest part of the year."""
    if course is None:
        # From 5 °C (winter) to 17 °C (summer) of the month's mean.
        return np.clip((t_g - 5.0) / 12.0, 0.0, 1.0)
    phase = 2.0 * np.pi * (ground.hour_of_year(time) - course.warmest)
    result: FloatArray = 0.5 + 0.5 * np.cos(phase / ground.YEAR_HOURS)
    return result


def _given(weather: xr.Dataset, name: str) -> FloatArray | None:
    """Return a variable that holds something, or None."""
    if name not in weather:
        return None
    values = weather[name].to_numpy().astype(np.float64, copy=False)
    return values if np.isfinite(values).any() else None


def _daily_extremes(
    t_o: FloatArray, day: NDArray[np.intp]
) -> tuple[FloatArray, FloatArray]:
    low = np.full(int(day.max()) + 1, np.inf)
    high = np.full(low.size, -np.inf)
    known = np.isfinite(t_o)
    np.minimum.at(low, day[known], t_o[known])
    np.maximum.at(high, day[known], t_o[known])
    empty = ~np.isfinite(low)
    low[empty], high[empty] = 0.0, 10.0
    return low, high


def _distance(told: NDArray[np.bool_]) -> NDArray[np.intp]:
    numbers = np.arange(told.size)
    known = numbers[told]
    after = np.searchsorted(known, numbers).clip(0, known.size - 1)
    before = (after - 1).clip(0)
    result: NDArray[np.intp] = np.minimum(
        np.abs(known[after] - numbers), np.abs(known[before] - numbers)
    )
    return result
