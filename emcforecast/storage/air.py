"""The air at the wood in a storage place, from the weather outside."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.physics.air_node import air_node
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.physics.stack_air import COURSES, course_air, top_board_excess
from emcforecast.storage.drivers import (
    Drivers,
    Fallback,
    FallbackKind,
    drivers_of,
    fallbacks_to_text,
)
from emcforecast.storage.kernel_inputs import months_in_use, node_parameters
from emcforecast.storage.parameters import Value
from emcforecast.storage.setting_text import as_setting
from emcforecast.storage.settings import Setting

PLACE = ("latitude", "longitude", "elevation", "utc_offset")
CARRIED = ("source", "licence", "attribution", "retrieved", "rebuilt_from")
SETTLING_DAYS = 90
"""Length of the run that brings a place to its state at the first hour."""


def air_in(
    weather: xr.Dataset,
    setting: str | Setting,
    *,
    drivers: Drivers | None = None,
    **parameters: Value,
) -> xr.Dataset:
    """Air at the wood in a storage place, hour by hour.

    Parameters
    ----------
    weather : xarray.Dataset
        An hourly weather series.
    setting : str or Setting
        As in ``--setting``: "outdoor", "shed=loft", "loft", "indoor=house,heat_to=19".
    drivers : Drivers, optional
        Of the weather, where they are at hand already.
    **parameters
        Changes to the kind's parameters, in the units `emcforecast settings` lists.

    Returns
    -------
    xarray.Dataset
        ``air_temperature`` (degC), ``relative_humidity`` (%) and, only where the wood
        is rained on and the weather has rain, ``precipitation`` (mm), on the weather's
        ``time``. Attributes: ``setting``, ``kind``, ``title``, ``surface_transfer``
        (m/s), ``rain_film`` (kg/m², 0 under cover), ``fallbacks`` (what stood in for
        missing weather, see `emcforecast.storage.drivers.fallbacks_of`), and the
        weather's place and source.

    Raises
    ------
    SettingError
        For an unknown setting, kind or parameter, or a value out of range.
    WeatherError
        When the series is not hourly.

    Notes
    -----
    See `emcforecast.physics.air_node.air_node`. The place is first run through the 90
    days before the same date of the next year, or through the first 30 days in
    reverse order where there is no next year, so that it starts settled.

    Examples
    --------
    >>> from emcforecast.weather.series import make_series
    >>> time = np.arange("2001-01-01", "2001-02-01", dtype="datetime64[h]")
    >>> weather = make_series(
    ...     time,
    ...     {
    ...         "air_temperature": np.full(time.size, 2.0),
    ...         "relative_humidity": np.full(time.size, 85.0),
    ...     },
    ...     step="hour",
    ...     kind="observed",
    ...     source="an even January",
    ... )
    >>> air = air_in(weather, "indoor=house,heat_to=19")
    >>> bool(air["relative_humidity"].max() < 60.0)
    True
    """
    chosen = as_setting(setting, **parameters)
    drivers = drivers or drivers_of(weather)
    t, h = run_setting(drivers, chosen, chosen.values())
    return _dataset(weather, chosen, drivers, t[:, 0], h[:, 0])


def run_setting(
    drivers: Drivers,
    setting: Setting,
    values: Mapping[str, ArrayLike | str],
    threads: int = 1,
) -> tuple[FloatArray, FloatArray]:
    """Temperature and humidity at the wood for every lane of a setting's values.

    Parameters
    ----------
    drivers : Drivers
        Of the weather.
    setting : Setting
        The kind and the words come from it.
    values : mapping
        All its parameters, numbers or arrays of shape (lanes,).
    threads : int
        Cores to use.

    Returns
    -------
    tuple of ndarray, shape (hours, lanes)
        °C and %.
    """
    table = drivers.table
    if setting.about.setting == "outdoor":
        t, e = table[:, 0][:, None], table[:, 1][:, None]
        h = np.minimum(100.0 * e / vapour_pressure(t, 100.0), 100.0)
        lanes = max((np.size(v) for v in values.values()), default=1)
        t, h = (np.repeat(x, lanes, axis=1) for x in (t, h))
    else:
        node = node_parameters(values)
        used = months_in_use(values)
        settled = air_node(_prelude(table), node, in_use=used, threads=threads)
        air = air_node(
            table,
            node,
            in_use=used,
            start_temperature=settled.end_temperature,
            start_store=settled.end_store,
            threads=threads,
        )
        t, h = air.temperature, air.humidity
    return _at_courses(drivers, values, t, h)


def _at_courses(
    drivers: Drivers,
    values: Mapping[str, ArrayLike | str],
    t: FloatArray,
    h: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    course = values.get("course")
    if course is None:
        return t, h
    share = {"whole": 1.0 / COURSES, "top": 1.0, "bottom": 0.0}[str(course)]
    ground = {"whole": 1.0 / COURSES, "top": 0.0, "bottom": 1.0}[str(course)]
    sees_sky = values.get("night_cooling", "off") == "on"
    damp = values.get("ground_damp", "off") == "on"
    if (not sees_sky or share == 0.0) and (not damp or ground == 0.0):
        return t, h

    def column(name: str) -> FloatArray:
        return drivers.column(name)[:, None]

    excess: ArrayLike = 0.0
    if sees_sky:
        excess = top_board_excess(
            column("sun"),
            column("sky_loss"),
            column("wind"),
            column("radiative"),
            np.asarray(values["board_sun"], dtype=np.float64),
            np.asarray(values["board_sky"], dtype=np.float64),
        ) * column("bare")
    from_ground = np.asarray(values["ground_share"], dtype=np.float64) * ground
    return course_air(
        t,
        vapour_pressure(t, h),
        excess=excess,
        ground_saturation=column("ground_saturation"),
        top_share=share,
        ground_share=from_ground if damp else 0.0,
    )


def _prelude(table: FloatArray) -> FloatArray:
    """Hours to run through first, so that the place starts settled."""
    year, run = 8760, SETTLING_DAYS * 24
    if table.shape[0] >= year:
        return table[year - run : year]
    days = min(30, table.shape[0] // 24)
    if days == 0:
        return table
    # Days in reverse order lead up to the first one without a jump.
    return table[: days * 24].reshape(days, 24, -1)[::-1].reshape(days * 24, -1)


def _dataset(
    weather: xr.Dataset,
    setting: Setting,
    drivers: Drivers,
    t: FloatArray,
    h: FloatArray,
) -> xr.Dataset:
    values = setting.values()
    air = air_variables(weather, setting, t, h, ("time",))
    film = float(values["rain_film"]) if "precipitation" in air else 0.0
    air.attrs = {
        **air_attributes(weather, setting, drivers),
        "surface_transfer": 1.0e-3 * float(values["surface_transfer"]),
        "rain_film": film,
    }
    return air


def air_variables(
    weather: xr.Dataset,
    setting: Setting,
    t: FloatArray,
    h: FloatArray,
    dims: tuple[str, ...],
) -> xr.Dataset:
    """Return temperature and humidity as a dataset, and rain where it falls."""
    data = {
        "air_temperature": (dims, t, _AIR_T),
        "relative_humidity": (dims, h, _AIR_RH),
    }
    air = xr.Dataset(data, coords={"time": weather["time"]})
    if setting.values().get("rain") == "on" and "precipitation" in weather:
        air["precipitation"] = weather["precipitation"]
    return air


def air_attributes(
    weather: xr.Dataset, setting: Setting, drivers: Drivers
) -> dict[str, Any]:
    """Attributes that tell where the air comes from."""
    notes = list(drivers.fallbacks)
    if setting.values().get("rain") == "on" and "precipitation" not in weather:
        notes.append(Fallback(FallbackKind.RAIN))
    carried = {k: weather.attrs[k] for k in PLACE + CARRIED if k in weather.attrs}
    return {
        **carried,
        "step": "hour",
        "weather_kind": weather.attrs.get("kind", ""),
        "setting": setting.name,
        "kind": setting.kind,
        "title": setting.about.title,
        "written": setting.text(),
        "fallbacks": fallbacks_to_text(notes),
    }


_AIR_T = {"units": "degC", "long_name": "temperature of the air at the wood"}
_AIR_RH = {"units": "%", "long_name": "relative humidity of the air at the wood"}
