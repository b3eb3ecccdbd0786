"""From a storage setting's parameters to the lanes of the air node's kernel."""

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.physics.air_node import NEVER_COLD, NEVER_WARM, NO_LIMIT
from emcforecast.physics.kernels.air_node import AIR_HEAT
from emcforecast.physics.moist_air import saturation_vapour_pressure

Values = Mapping[str, ArrayLike | str]

HOUR = 3600.0
GRAMS_AN_HOUR = 1.0e-3 / HOUR
"""kg/s in a gram an hour."""


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
