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
    "weather_series": "emcforecast.weather.accept",
    "read_weather": "emcforecast.weather.read",
    "fetch_weather": "emcforecast.weather.fetch",
    "Setting": "emcforecast.storage.settings",
    "air_in": "emcforecast.storage.air",
    "calibrate": "emcforecast.storage.calibrate",
    "Calibration": "emcforecast.storage.calibrate",
    "Board": "emcforecast.wood.board",
    "simulate": "emcforecast.ensemble.simulate",
    "running_emc": "emcforecast.ensemble.simulate",
    "Reading": "emcforecast.ensemble.evidence",
    "Target": "emcforecast.forecast.targets",
    "floor": "emcforecast.forecast.floor",
    "Floor": "emcforecast.forecast.floor_result",
    "floor_grid": "emcforecast.grid.floor",
    "dry": "emcforecast.forecast.dry",
    "Dry": "emcforecast.forecast.dry_result",
    "plan": "emcforecast.forecast.plan.plan",
    "Plan": "emcforecast.forecast.plan.result",
    "EmcforecastError": "emcforecast.errors",
    "InputError": "emcforecast.errors",
    "WeatherError": "emcforecast.errors",
    "ContractError": "emcforecast.errors",
    "SettingError": "emcforecast.errors",
    "SpeciesError": "emcforecast.errors",
    "YardError": "emcforecast.errors",
    "ArchiveError": "emcforecast.errors",
}
"""Module of each public name."""

__all__ = ["__version__", *_WHERE]

if TYPE_CHECKING:
    from emcforecast.ensemble.evidence import Reading as Reading
    from emcforecast.ensemble.simulate import running_emc as running_emc
    from emcforecast.ensemble.simulate import simulate as simulate
    from emcforecast.errors import ArchiveError as ArchiveError
    from emcforecast.errors import ContractError as ContractError
    from emcforecast.errors import EmcforecastError as EmcforecastError
    from emcforecast.errors import InputError as InputError
    from emcforecast.errors import SettingError as SettingError
    from emcforecast.errors import SpeciesError as SpeciesError
    from emcforecast.errors import WeatherError as WeatherError
    from emcforecast.errors import YardError as YardError
    from emcforecast.forecast.dry import dry as dry
    from emcforecast.forecast.dry_result import Dry as Dry
    from emcforecast.forecast.floor import floor as floor
    from emcforecast.forecast.floor_result import Floor as Floor
    from emcforecast.forecast.plan.plan import plan as plan
    from emcforecast.forecast.plan.result import Plan as Plan
    from emcforecast.forecast.targets import Target as Target
    from emcforecast.grid.floor import floor_grid as floor_grid
    from emcforecast.storage.air import air_in as air_in
    from emcforecast.storage.calibrate import Calibration as Calibration
    from emcforecast.storage.calibrate import calibrate as calibrate
    from emcforecast.storage.settings import Setting as Setting
    from emcforecast.weather.accept import weather_series as weather_series
    from emcforecast.weather.fetch import fetch_weather as fetch_weather
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
