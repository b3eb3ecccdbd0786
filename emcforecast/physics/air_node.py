"""The air of a storage place: one well-mixed node of heat and moisture, hourly."""

from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.physics.kernels import air_node as air_step
from emcforecast.physics.moist_air import saturation_vapour_pressure

HOUR = 3600.0

DRIVERS = (
    "air_temperature",  # °C
    "vapour_pressure",  # Pa
    "wind",  # m/s at the building
    "sun",  # W/m² on the horizontal
    "sky_loss",  # W/m², a black body at air temperature less the sky's return
    "radiative",  # W/m²K, 4 sigma T³
    "ground_temperature",  # °C
    "ground_saturation",  # Pa
    "season",  # 0 in the coldest part of the year, 1 in the warmest
    "month",  # 0 for January to 11
    "bare",  # share of sun and sky a roof sees, 1 without snow
)
"""Columns of the drivers, in the kernel's order."""

NEVER_COLD = -1.0e3
"""°C, a heating set point that never calls for heat."""
NEVER_WARM = 1.0e3
"""°C, a cooling set point that never calls for cooling."""
NO_LIMIT = 10.0
"""A humidity (0..1) no dryer ever has to hold."""

PARAMETERS: dict[str, float] = {
    "vent": 1.0,  # W/m²K, heat carried by ventilation in still air
    "vent_wind": 0.0,  # W/m²K per m/s
    "vent_open": 0.0,  # W/m²K more with windows fully open
    "vent_lift": 0.0,  # W/m²K for each √K between inside and outside
    "opens_at": 12.0,  # °C outdoors at which windows begin to open
    "vent_hot": 0.0,  # W/m²K more when the room is hot and it is cooler outside
    "hot_from": 24.0,  # °C in the room at which that begins
    "vent_fan": 0.0,  # W/m²K more while the air outside is drier than the wood
    "u_roof": 0.0,  # W/m²K
    "u_wall": 0.0,  # W/m²K
    "u_ground": 0.0,  # W/m²K
    "u_room": 0.0,  # W/m²K to heated rooms next to the place
    "room": 20.0,  # °C of those rooms
    "capacity": 40.0e3,  # J/m²K
    "absorbed": 0.0,  # share of the sun taken up by the roof
    "emitted": 0.0,  # emissivity of the roof towards the sky
    "aperture": 0.0,  # m² of window per m² of floor
    "gain": 0.0,  # W/m², always
    "gain_used": 0.0,  # W/m², while in use
    "moisture": 0.0,  # kg/(m² s), while in use
    "damp_ground": 0.0,  # kg/(m² s Pa) from the ground
    "ground_humidity": 1.0,  # humidity of the ground's surface, 0..1
    "exchange": 0.0,  # kg/(m² s Pa) between air and hygroscopic surfaces
    "store": 1.0,  # kg/m² per unit of humidity
    "heat_cold": NEVER_COLD,  # °C, heating set point in the cold season
    "heat_warm": NEVER_COLD,  # °C, in the warm season
    "heat_away": NEVER_COLD,  # °C, while not in use
    "heat_power": 100.0,  # W/m², the most heating gives
    "cool": NEVER_WARM,  # °C, cooling set point
    "cool_power": 100.0,  # W/m², the most cooling takes
    "coil": 0.0,  # m/s of air over the coil, per m² of floor, running all the time
    "coil_per_power": 0.0,  # share of the hour it runs for each W/m² of cooling
    "coil_saturation": 1.0e9,  # Pa at the coil
    "humidify_to": 0.0,  # 0..1
    "humidify_most": 0.0,  # kg/(m² s)
    "dry_to": NO_LIMIT,  # 0..1
    "dry_most": 0.0,  # kg/(m² s)
}
"""Parameters of the node in the kernel's order, with the value of a bare shelter."""


@dataclass(frozen=True)
class NodeAir:
    """Air of the node, hour by hour, for every lane.

    Parameters
    ----------
    temperature : ndarray, shape (hours, lanes)
        Mean over the hour, °C.
    humidity : ndarray, shape (hours, lanes)
        Mean over the hour, % over liquid water.
    end_temperature, end_store : ndarray, shape (lanes,)
        Temperature (°C) and humidity of the hygroscopic store (0..1) at the end.
    """

    temperature: FloatArray
    humidity: FloatArray
    end_temperature: FloatArray
    end_store: FloatArray


@dataclass(frozen=True)
class NodeTrace:
    """All that moved in one lane, hour by hour, to check its balances.

    Parameters
    ----------
    temperature, humidity : ndarray, shape (hours,)
        Means over the hour, °C and %.
    end_temperature, end_store : ndarray, shape (hours,)
        State at the end of the hour, °C and 0..1.
    power : ndarray, shape (hours,)
        Heating less cooling, W/m².
    water : ndarray, shape (hours,)
        Water given by a humidifier less that taken by a dryer or condensed,
        kg/(m² s).
    conductance, rest_temperature : ndarray, shape (hours,)
        Sum of the heat conductances (W/m²K) and the temperature (°C) at which the
        node would settle unheated.
    moisture_conductance, moisture_source : ndarray, shape (hours,)
        Sums of the moisture conductances (kg/(m² s Pa)) and sources (kg/(m² s)).
    """

    temperature: FloatArray
    humidity: FloatArray
    end_temperature: FloatArray
    end_store: FloatArray
    power: FloatArray
    water: FloatArray
    conductance: FloatArray
    rest_temperature: FloatArray
    moisture_conductance: FloatArray
    moisture_source: FloatArray


def air_node(
    drivers: FloatArray,
    parameters: Mapping[str, ArrayLike],
    *,
    in_use: ArrayLike = 1.0,
    start_temperature: ArrayLike | None = None,
    start_store: ArrayLike | None = None,
    threads: int = 1,
) -> NodeAir:
    """Air of many storage places and ensemble members under the same weather.

    Parameters
    ----------
    drivers : ndarray, shape (hours, 11)
        One row an hour, columns as in `DRIVERS`. An hour with a NaN gives NaN and
        leaves the state as it was.
    parameters : mapping of str to array_like
        Any of `PARAMETERS`, each a scalar or shape (lanes,); the rest keep their
        values there.
    in_use : array_like
        Share of each month the place is in use, scalar, shape (12,) or (12, lanes).
    start_temperature, start_store : array_like, optional
        State to start from, °C and 0..1, scalar or shape (lanes,); the first hour's
        outdoor air by default.
    threads : int
        How many cores to use; worth it from some dozens of lanes on.

    Returns
    -------
    NodeAir
        Hourly means and the state at the end.

    Notes
    -----
    Heat, with v the wind and I the sun: S = g_v + U_r + U_w + U_g + U_room;
    T* = T_o + [U_r f (a I - eps dR)/h_o + U_g (T_g - T_o) + U_room (T_room - T_o)
    + A_w I + q]/S with h_o = 2.8 + 3 v + eps 4 sigma T³ and f the share of the roof
    bare of snow; T_(k+1) = T* + (T_k - T*) exp(-S dt/C), and the hourly mean is
    weighted by (1 - exp(-x))/x, x = S dt/C. Heating or cooling acts at a steady rate
    through the hour that ends it on the set point, or at its limit.

    Ventilation is still-air, wind, lift (in proportion to the root of the difference
    of temperature, guessed from the hour's start and rest), windows, airing, and a fan
    that runs while e_o + 130 Pa < phi e_s at the hour's start.

    Moisture, with B the conductances and A the sources: the air is quasi-steady,
    e = (A + b phi e_s)/(B + b), and the store follows C_b dphi/dt = b (e - phi e_s),
    solved exactly over the hour. A cooling coil runs for the share of the hour its
    sensible cooling needs, and dries air towards its own saturation while that lies
    below the room's. Humidifier, dryer and condensation are steady sources
    that bring the hourly mean to their limit, or act at their capacity. Heat of
    evaporation is left out.

    Both balances close to rounding: C dT = dt S (T* - T) + dt Q and
    C_b dphi = dt (A - B e + water).

    Examples
    --------
    Outdoor air at 10 °C and 80 %, warmed by 5 W/m² through 1 W/m²K:

    >>> hour = [10.0, 981.4, 0.0, 0.0, 0.0, 5.0, 10.0, 1227.0, 0.5, 0.0, 1.0]
    >>> air = air_node(np.array([hour] * 240), {"gain": 5.0})
    >>> round(float(air.temperature[-1, 0]), 3), round(float(air.humidity[-1, 0]), 1)
    (15.0, 57.7)
    """
    table, used = _table(drivers, parameters, in_use, start_temperature, start_store)
    lanes = table.shape[1]
    hours = np.ascontiguousarray(drivers, dtype=np.float64)
    out_t = np.empty((hours.shape[0], lanes))
    out_h = np.empty((hours.shape[0], lanes))
    ends = np.empty((2, lanes))
    width = air_step.WIDTH
    lifted, fanned = _switches(table)

    def run(first: int) -> None:
        here = slice(first, min(first + width, lanes))
        block = _padded(table[:, here], width)
        flat = block.ravel()
        # A lone lane is stepped alone; more than one fill the vector unit.
        count = 1 if lanes == 1 else width
        air_step.run_lanes(
            hours, flat, _padded(used[:, here], width), out_t[:, here], out_h[:, here],
            count, lifted, fanned,
        )  # fmt: skip
        last = here.stop - first
        ends[0, here] = flat[air_step.STATE_T :][:last]
        ends[1, here] = flat[air_step.STATE_H :][:last]

    blocks = range(0, lanes, width)
    if threads > 1 and len(blocks) > 1:
        with ThreadPoolExecutor(threads) as pool:
            list(pool.map(run, blocks))
    else:
        for first in blocks:
            run(first)
    return NodeAir(out_t, out_h, ends[0], ends[1])


def trace_node(
    drivers: FloatArray,
    parameters: Mapping[str, float],
    *,
    in_use: ArrayLike = 1.0,
    start_temperature: float | None = None,
    start_store: float | None = None,
) -> NodeTrace:
    """Air of one place with all that moved, to check the balances of the node.

    Parameters
    ----------
    drivers, parameters, in_use, start_temperature, start_store
        As for `air_node`, for a single lane.

    Returns
    -------
    NodeTrace
        Hourly values.

    Examples
    --------
    >>> hour = [10.0, 981.4, 0.0, 0.0, 0.0, 5.0, 10.0, 1227.0, 0.5, 0.0, 1.0]
    >>> trace = trace_node(np.array([hour] * 240), {"gain": 5.0})
    >>> round(float(trace.rest_temperature[0]), 6)
    15.0
    """
    table, used = _table(drivers, parameters, in_use, start_temperature, start_store)
    out = np.empty((len(drivers), 10))
    air_step.trace_lane(
        np.ascontiguousarray(drivers, dtype=np.float64),
        _padded(table, air_step.WIDTH).ravel(),
        used,
        out,
        *_switches(table),
    )
    return NodeTrace(*out.T)


def _table(
    drivers: FloatArray,
    parameters: Mapping[str, ArrayLike],
    in_use: ArrayLike,
    start_temperature: ArrayLike | None,
    start_store: ArrayLike | None,
) -> tuple[FloatArray, FloatArray]:
    """Return the kernel's table, a row to a parameter, and the months in use."""
    unknown = set(parameters) - set(PARAMETERS)
    if unknown:
        raise KeyError(f"the air node has no parameter {sorted(unknown)}")
    usable = drivers[np.flatnonzero(np.isfinite(drivers).all(axis=1))[:1]]
    t_0, e_0 = (usable[0, 0], usable[0, 1]) if len(usable) else (np.nan, np.nan)
    start_t = t_0 if start_temperature is None else start_temperature
    start_h = (
        np.minimum(e_0 / saturation_vapour_pressure(t_0), 1.0)
        if start_store is None
        else start_store
    )
    values = [parameters.get(name, default) for name, default in PARAMETERS.items()]
    used = np.asarray(in_use, dtype=np.float64)
    used = used if used.ndim == 2 else np.broadcast_to(used, 12)[:, None]
    rows = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(v, dtype=np.float64)) for v in values),
        np.atleast_1d(np.asarray(start_t, dtype=np.float64)),
        np.atleast_1d(np.asarray(start_h, dtype=np.float64)),
        used[0],
    )
    table = np.zeros((air_step.ROWS, rows[0].size))
    table[: len(values)] = rows[: len(values)]
    table[air_step.HOUR_PER_CAPACITY // air_step.WIDTH] = HOUR / rows[_CAPACITY]
    table[air_step.HOUR_PER_STORE // air_step.WIDTH] = HOUR / rows[_STORE]
    table[air_step.STATE_T // air_step.WIDTH] = rows[-3]
    table[air_step.STATE_H // air_step.WIDTH] = rows[-2]
    return table, np.ascontiguousarray(np.broadcast_to(used, (12, rows[0].size)))


def _switches(table: FloatArray) -> tuple[bool, bool]:
    """Whether any lane has lift, and whether any has a fan."""
    rows = (air_step.VENT_LIFT, air_step.VENT_FAN)
    lifted, fanned = (bool(table[row // air_step.WIDTH].any()) for row in rows)
    return lifted, fanned


def _padded(block: FloatArray, width: int) -> FloatArray:
    """Return the block with its last lane repeated up to the kernel's width."""
    return np.pad(block, ((0, 0), (0, width - block.shape[1])), mode="edge")


_CAPACITY = list(PARAMETERS).index("capacity")
_STORE = list(PARAMETERS).index("store")
