"""The air at the wood in a storage place, from the weather outside."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.physics.air_node import NEVER_COLD, NEVER_WARM, NO_LIMIT, air_node
from emcforecast.physics.kernels.air_node import AIR_HEAT
from emcforecast.physics.moist_air import (
    relative_humidity,
    saturation_vapour_pressure,
    vapour_pressure,
)
from emcforecast.physics.pieces import in_pieces
from emcforecast.physics.stack_air import COURSES, course_air, top_board_excess
from emcforecast.storage.drivers import (
    Drivers,
    Fallback,
    FallbackKind,
    drivers_of,
    fallbacks_to_text,
)
from emcforecast.storage.parameters import Value
from emcforecast.storage.setting_text import SettingLike, as_setting
from emcforecast.storage.settings import Setting
from emcforecast.weather.accept import WeatherLike, weather_series
from emcforecast.weather.series import CONVENTIONS

Values = Mapping[str, ArrayLike | str]

HOUR = 3600.0
GRAMS_AN_HOUR = 1.0e-3 / HOUR
"""kg/s in a gram an hour."""
PLACE = ("latitude", "longitude", "elevation", "utc_offset")
CARRIED = ("source", "licence", "attribution", "retrieved", "rebuilt_from")
SETTLING_DAYS = 90
"""Length of the run that brings a place to its state at the first hour."""


def air_in(
    weather: WeatherLike,
    setting: SettingLike,
    *,
    drivers: Drivers | None = None,
    **parameters: Value,
) -> xr.Dataset:
    """Air at the wood in a storage place, hour by hour.

    Parameters
    ----------
    weather : xarray.Dataset or pandas.DataFrame
        Hourly weather, as `emcforecast.weather_series` takes it.
    setting : Setting, str or mapping
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
    weather = weather_series(weather)
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
    if setting.kind in OUT_OF_DOORS:
        t, e = table[:, 0][:, None], table[:, 1][:, None]
        h = np.minimum(in_pieces(relative_humidity, t, e, axis=0), 100.0)
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


OUT_OF_DOORS = ("stack", "stack-roof")
"""Kinds with nothing round them: their air is the weather's."""


def _at_courses(
    drivers: Drivers,
    values: Mapping[str, ArrayLike | str],
    t: FloatArray,
    h: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    course = values.get("course")
    if course is None:
        return t, h
    share = {"whole": 1.0 / COURSES, "top": 1.0}.get(str(course), 0.0)
    ground = {"whole": 1.0 / COURSES, "bottom": 1.0}.get(str(course), 0.0)
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
    film = float(wet_film(values)) if "precipitation" in air else 0.0
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


def wet_film(values: Mapping[str, ArrayLike | str]) -> FloatArray:
    """Most rain that the boards keep, kg/m² of all their faces."""
    film = np.asarray(values["rain_film"], dtype=np.float64)
    return film * np.asarray(values["wet_share"], dtype=np.float64)


def air_attributes(
    weather: xr.Dataset, setting: Setting, drivers: Drivers
) -> dict[str, Any]:
    """Attributes that tell where the air comes from."""
    notes = list(drivers.fallbacks)
    if setting.values().get("rain") == "on" and "precipitation" not in weather:
        notes.append(Fallback(FallbackKind.RAIN))
    carried = {k: weather.attrs[k] for k in PLACE + CARRIED if k in weather.attrs}
    return {
        "Conventions": CONVENTIONS,
        **carried,
        "step": "hour",
        "weather_kind": weather.attrs.get("kind", ""),
        "setting": setting.name,
        "kind": setting.kind,
        "title": setting.about.title,
        "written": setting.text(),
        "fallbacks": fallbacks_to_text(notes),
    }


_AIR_T = {
    "standard_name": "air_temperature",
    "units": "degC",
    "long_name": "temperature of the air at the wood",
}
_AIR_RH = {
    "standard_name": "relative_humidity",
    "units": "%",
    "long_name": "relative humidity of the air at the wood",
}


def node_parameters(values: Values) -> dict[str, ArrayLike]:
    """Parameters of the air node from those people state.

    Parameters
    ----------
    values : mapping
        By the names of `emcforecast.storage.parameters.PARAMETERS`, numbers or arrays
        of shape (lanes,), in those units; words such as "off" as they are.

    Returns
    -------
    dict
        By the names of `emcforecast.physics.air_node.PARAMETERS`.
    """

    def number(name: str, missing: float = 0.0) -> FloatArray:
        value = values.get(name, missing)
        if isinstance(value, str):
            return np.asarray(missing)
        return np.asarray(value, dtype=np.float64)

    volume_heat = AIR_HEAT * number("height", 1.0) / HOUR
    heat = number("heat_to", NEVER_COLD)
    same = values.get("heat_to_summer", "same") == "same"
    gain = number("heat_gain")
    cool = number("cool_to", NEVER_WARM)
    coil = number("coil_air") * number("height", 1.0) / HOUR
    coil_temperature = number("coil_temperature", 11.0)
    full = AIR_HEAT * coil * np.maximum(cool - coil_temperature, 1.0)
    lived_in = "used_from" in values
    return {
        "vent": volume_heat * number("ventilation", 1.0),
        "vent_wind": volume_heat * number("wind_ventilation"),
        "vent_open": volume_heat * number("window_opening"),
        "vent_lift": volume_heat * number("lift_ventilation"),
        "opens_at": number("opens_from", 12.0),
        "vent_hot": volume_heat * number("airing"),
        "hot_from": number("airing_from", 24.0),
        "vent_fan": volume_heat * number("fan"),
        "u_roof": number("roof_u"),
        "u_wall": number("wall_u"),
        "u_ground": number("ground_u"),
        "u_room": number("room_u"),
        "room": number("room_temperature", 20.0),
        "capacity": 1.0e3 * number("heat_capacity", 40.0),
        "absorbed": number("roof_sun"),
        "emitted": number("roof_sky"),
        "aperture": number("window_area"),
        "gain": np.zeros(()) if lived_in else gain,
        "gain_used": gain if lived_in else np.zeros(()),
        "moisture": GRAMS_AN_HOUR * number("moisture_gain"),
        "damp_ground": 1.0e-10 * number("ground_moisture"),
        "exchange": 1.0e-8 * number("buffer_exchange"),
        "store": number("buffer_store", 1.0),
        "heat_cold": heat,
        "heat_warm": heat if same else number("heat_to_summer", NEVER_COLD),
        "heat_away": number("heat_away", NEVER_COLD),
        "heat_power": number("heat_power"),
        "cool": cool,
        "cool_power": number("cool_power"),
        "coil": coil,
        "coil_per_power": np.where(full > 0.0, 1.0 / np.maximum(full, 1e-6), 0.0),
        "coil_saturation": saturation_vapour_pressure(coil_temperature),
        "humidify_to": number("humidify_to") / 100.0,
        "humidify_most": GRAMS_AN_HOUR * number("humidifier_capacity"),
        "dry_to": number("dehumidify_to", 100.0 * NO_LIMIT) / 100.0,
        "dry_most": GRAMS_AN_HOUR * number("dehumidifier_capacity"),
    }


def months_in_use(values: Values) -> FloatArray:
    """Return 1 for each month the place is in use, else 0, shape (12,).

    Examples
    --------
    >>> months_in_use({"used_from": 11.0, "used_to": 2.0}).astype(int).tolist()
    [1, 1, 0, 0, 0, 0, 0, 0, 0, 0, 1, 1]
    """
    first, last = (float(str(values.get(k, d))) for k, d in _ALL_YEAR.items())
    month = np.arange(1, 13)
    after, before = month >= first, month <= last
    used = after & before if first <= last else after | before
    result: FloatArray = used.astype(np.float64)
    return result


_ALL_YEAR = {"used_from": 1.0, "used_to": 12.0}
