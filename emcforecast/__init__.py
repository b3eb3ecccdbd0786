"""Moisture forecasts for wood: weather in, decisions out.

The names below are imported on first use, so that ``import emcforecast`` is
instant. Temperatures in °C, humidity in %, moisture content in % of oven-dry mass.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_WHERE = {
    "equilibrium_moisture_content": "emcforecast.wood.emc",
    "equilibrium_humidity": "emcforecast.wood.emc",
    "read_weather": "emcforecast.weather.read",
    "fetch_weather": "emcforecast.weather.fetch",
    "air_in": "emcforecast.storage.air",
    "calibrate": "emcforecast.storage.calibrate",
    "Board": "emcforecast.wood.board",
    "simulate": "emcforecast.ensemble.simulate",
    "running_emc": "emcforecast.ensemble.simulate",
    "floor": "emcforecast.forecast.floor",
    "dry": "emcforecast.forecast.dry",
    "plan": "emcforecast.forecast.plan.plan",
}

__all__ = ["__version__", *_WHERE]

if TYPE_CHECKING:
    from emcforecast.ensemble.simulate import running_emc as running_emc
    from emcforecast.ensemble.simulate import simulate as simulate
    from emcforecast.forecast.floor import floor as floor
    from emcforecast.storage.air import air_in as air_in
    from emcforecast.weather.read import read_weather as read_weather
    from emcforecast.wood.board import Board as Board
    from emcforecast.wood.emc import equilibrium_humidity as equilibrium_humidity
    from emcforecast.wood.emc import (
        equilibrium_moisture_content as equilibrium_moisture_content,
    )


def __getattr__(name: str) -> Any:
    """Import a public name when it is first asked for (PEP 562)."""
    if name not in _WHERE:
        raise AttributeError(f"module 'emcforecast' has no attribute '{name}'")
    value = getattr(import_module(_WHERE[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names."""
    return sorted(__all__)
