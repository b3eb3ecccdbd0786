"""How far a setting may be from what is stated: draws of its parameters."""

from collections.abc import Mapping

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray
from emcforecast.errors import SettingError
from emcforecast.language import _
from emcforecast.storage.air import (
    air_attributes,
    air_variables,
    run_setting,
    wet_film,
)
from emcforecast.storage.drivers import Drivers, drivers_of
from emcforecast.storage.parameters import PARAMETERS, Value
from emcforecast.storage.setting_text import as_setting
from emcforecast.storage.settings import Setting


def air_members(
    weather: xr.Dataset,
    setting: str | Setting,
    n: int,
    seed: int = 0,
    *,
    threads: int = 1,
    drivers: Drivers | None = None,
    first: int = 0,
    **parameters: Value,
) -> xr.Dataset:
    """Air at the wood for draws of a setting's parameters within their likely ranges.

    Parameters
    ----------
    weather : xarray.Dataset
        An hourly weather series.
    setting : str or Setting
        As for `emcforecast.storage.air.air_in`.
    n : int
        Members. The first is the setting as stated, the others are drawn.
    seed : int
        The same seed gives the same draws.
    threads : int
        Cores to use.
    drivers : Drivers, optional
        Of the weather, where they are at hand already.
    first : int
        Number of the first draw to work out; those before it are left out.
    **parameters
        Changes to the setting.

    Returns
    -------
    xarray.Dataset
        As from `air_in`, with dimensions ``time`` and ``member``; ``surface_transfer``
        (m/s) and ``rain_film`` (kg/m²) are variables over ``member``.

    Raises
    ------
    SettingError
        As for `air_in`, and when ``n`` is below 1.

    Notes
    -----
    A Latin hypercube: every range is cut into as many equal parts as there are draws,
    and each part is drawn from once, in an order of its own for each parameter.
    Parameters whose range is a factor are drawn evenly in the logarithm.

    References
    ----------
    McKay, Beckman and Conover (1979), Technometrics 21, 239-245.

    Examples
    --------
    >>> from emcforecast.weather.read import demonstration
    >>> week = demonstration().isel(time=slice(0, 168))
    >>> air = air_members(week, "shed=loft", 5, seed=1)
    >>> dict(air["relative_humidity"].sizes)
    {'time': 168, 'member': 5}
    """
    chosen = as_setting(setting, **parameters)
    drivers = drivers or drivers_of(weather)
    values = {
        name: drawn[first:] if isinstance(drawn, np.ndarray) and drawn.ndim else drawn
        for name, drawn in draw_parameters(chosen, n, seed).items()
    }
    n -= first
    t, h = run_setting(drivers, chosen, values, threads=threads)
    if t.shape[1] != n:
        # Nothing that varies reaches the air.
        t, h = (np.repeat(x, n, axis=1) for x in (t, h))
    air = air_variables(weather, chosen, t, h, ("time", "member"))
    transfer = 1.0e-3 * np.asarray(values["surface_transfer"], dtype=np.float64)
    film = np.zeros(n)
    if "precipitation" in air:
        film = wet_film(values)
    air["surface_transfer"] = ("member", np.broadcast_to(transfer, n), _TRANSFER)
    air["rain_film"] = ("member", np.broadcast_to(film, n), _FILM)
    air.attrs = air_attributes(weather, chosen, drivers)
    return air


def draw_parameters(
    setting: Setting, n: int, seed: int = 0
) -> dict[str, FloatArray | str]:
    """Draws of a setting's parameters, the first as stated.

    Parameters
    ----------
    setting : Setting
        What is stated.
    n : int
        Draws, at least 1.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    dict
        Arrays of shape (n,) for what varies, scalars and words for what does not.

    Examples
    --------
    >>> from emcforecast.storage.setting_text import parse_setting
    >>> draws = draw_parameters(parse_setting("loft"), 3)
    >>> float(draws["ventilation"][0]), draws["roof"]
    (5.0, 'board')
    """
    if n < 1:
        raise SettingError(_("{n} draws: at least 1 is needed.", n=n))
    rng = np.random.default_rng(seed)
    out: dict[str, FloatArray | str] = {}
    for name, value in setting.values().items():
        ends = setting.likely_range(name)
        if isinstance(value, str):
            out[name] = value
        elif n == 1 or ends is None or ends[0] == ends[1]:
            out[name] = np.asarray(value)
        else:
            even = (rng.permutation(n - 1) + rng.random(n - 1)) / (n - 1)
            out[name] = np.concatenate([[value], _spread(name, ends, even)])
    _keep_apart(out)
    return out


def _spread(name: str, ends: tuple[float, float], even: FloatArray) -> FloatArray:
    low, high = ends
    spread = PARAMETERS[name].spread
    if spread is not None and spread[0] == "times" and low > 0.0:
        result: FloatArray = low * (high / low) ** even
        return result
    return low + (high - low) * even


def _keep_apart(draws: Mapping[str, FloatArray | str]) -> None:
    """Hold drawn heating set points at or below the cooling ones."""
    cool = draws.get("cool_to")
    if cool is None or isinstance(cool, str):
        return
    for name in ("heat_to", "heat_to_summer"):
        heat = draws.get(name)
        if heat is not None and not isinstance(heat, str) and heat.ndim:
            np.minimum(heat, cool, out=heat)


_TRANSFER = {"units": "m s-1", "long_name": "moisture transfer at the boards"}
_FILM = {"units": "kg m-2", "long_name": "water a wet surface holds"}
