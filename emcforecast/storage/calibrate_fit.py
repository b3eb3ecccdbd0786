"""Fit a few levers of a setting to a logger's window, held back by priors."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import BoolArray, FloatArray
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.storage.air import run_setting
from emcforecast.storage.drivers import Drivers
from emcforecast.storage.parameters import PARAMETERS
from emcforecast.storage.settings import Setting

DAY = 24
TEMPERATURE_SD = 1.0
"""K, what the model may miss in an hour."""
VAPOUR_SD = 0.06
"""In the logarithm of a day's vapour pressure."""
DAYS_PER_FACT = 3.0
"""Days of a logger that tell as much as one independent day would."""
PRIOR_SD_TIMES = 0.3
"""Prior of a lever given by a factor: standard deviation of its logarithm."""
PRIOR_SD_PLUS = 0.7
"""Prior of a lever given by a step: standard deviations in its likely half-range."""
PLAINLY_WRONG = 1.3
"""Score above which the stated setting is plainly wrong."""
LOOSEST = 2.5
"""Priors are widened up to this where the stated setting is plainly wrong."""
LEAST_HOURS = 12
"""Hours a day needs for its mean to count."""
_STEP = 0.02
_ROUNDS = 15


@dataclass(frozen=True)
class Window:
    """A logger's hours with the weather that led up to them and ran through them.

    Parameters
    ----------
    drivers : Drivers
        Of the run-up and the window.
    first : int
        Row at which the window begins.
    temperature, humidity : ndarray, shape (hours,)
        What the logger read, °C and %; NaN where it did not.
    """

    drivers: Drivers
    first: int
    temperature: FloatArray
    humidity: FloatArray

    @property
    def days(self) -> NDArray[np.intp]:
        """Number of the day of each hour, counted from the window's start."""
        return np.arange(self.temperature.size) // DAY

    @property
    def known(self) -> BoolArray:
        """Hours with a reading and with weather."""
        outside = np.isfinite(self.drivers.table[self.first :]).all(axis=1)
        known: BoolArray = (
            np.isfinite(self.temperature) & np.isfinite(self.humidity) & outside
        )
        return known

    @property
    def emc(self) -> FloatArray:
        """Equilibrium moisture content of the air the logger read, %."""
        return equilibrium_moisture_content(self.temperature, self.humidity)


@dataclass(frozen=True)
class Fit:
    """Levers as fitted.

    Parameters
    ----------
    values : dict of str to float
        By parameter name, in people's units.
    likely : dict of str to (float, float)
        About nine in ten, from the fit's curvature and the prior.
    """

    values: dict[str, float]
    likely: dict[str, tuple[float, float]]


@dataclass(frozen=True)
class Errors:
    """How far the model is from the logger: root mean squares over days.

    Parameters
    ----------
    rmse_t : float
        Of daily mean temperature, K.
    rmse_emc : float
        Of daily mean EMC, % MC.
    """

    rmse_t: float
    rmse_emc: float

    @property
    def score(self) -> float:
        """One number to choose by: 1 % MC counts as much as 4 K."""
        return math.hypot(self.rmse_emc, 0.25 * self.rmse_t)


def looseness(stated: Errors) -> float:
    """How far priors may be trusted less, from the stated setting's own error.

    Examples
    --------
    >>> looseness(Errors(1.0, 0.5)), looseness(Errors(2.0, 4.0))
    (1.0, 2.5)
    """
    return min(max(stated.score / PLAINLY_WRONG, 1.0), LOOSEST)


def run_window(
    window: Window, setting: Setting, levers: dict[str, FloatArray | float]
) -> tuple[FloatArray, FloatArray]:
    """Temperature (°C) and humidity (%) in the window, shape (hours, lanes)."""
    t, h = run_setting(window.drivers, setting, {**setting.values(), **levers})
    return t[window.first :], h[window.first :]


def errors_in(window: Window, t: FloatArray, h: FloatArray, days: BoolArray) -> Errors:
    """Errors of one modelled lane over the days chosen.

    Parameters
    ----------
    window : Window
        The logger's.
    t, h : ndarray, shape (hours,)
        Modelled, °C and %.
    days : ndarray of bool, shape (days,)
        Which days count.
    """
    model_emc = equilibrium_moisture_content(t, h)
    away_t = daily_mean(window, t - window.temperature)[days]
    away_emc = daily_mean(window, model_emc - window.emc)[days]
    return Errors(_rms(away_t), _rms(away_emc))


def fit_levers(
    window: Window,
    setting: Setting,
    names: Sequence[str],
    days: BoolArray,
    looseness: float = 1.0,
) -> Fit:
    """Fit levers to the days chosen.

    Parameters
    ----------
    window : Window
        The logger's.
    setting : Setting
        As stated: the middle of the priors.
    names : sequence of str
        Levers to fit.
    days : ndarray of bool, shape (days,)
        Which days may be looked at.
    looseness : float
        Factor on the priors' standard deviations.

    Returns
    -------
    Fit
        The most likely levers.

    Notes
    -----
    Least squares on hourly temperature and daily ln(e_model/e_logger) with log-normal
    priors (normal ones for set points), by damped Gauss-Newton steps. Hours and days
    in a row tell much the same, so that three days count as one independent day.
    """
    start = setting.values()
    middle = np.array([float(start[n]) for n in names])
    priors = [looseness * _prior(n) for n in names]

    def levers(x: FloatArray) -> dict[str, FloatArray | float]:
        return {
            name: _unscaled(name, middle[i], priors[i], x[i])
            for i, name in enumerate(names)
        }

    def residuals(x: FloatArray) -> FloatArray:
        t, h = run_window(window, setting, levers(x))
        return np.concatenate([_residuals(window, t, h, days), x])

    x, slope = _least_squares(residuals, len(names))
    spread = np.sqrt(np.diag(np.linalg.inv(slope.T @ slope)))
    found = levers(x)
    low, high = levers(x - 1.64 * spread), levers(x + 1.64 * spread)
    return Fit(
        {n: float(f"{float(found[n]):.4g}") for n in names},
        {n: (float(low[n]), float(high[n])) for n in names},
    )


def daily_mean(window: Window, values: FloatArray) -> FloatArray:
    """Means over days with enough known hours, shape (days,) or (days, lanes)."""
    known = window.known
    columns = values.reshape(known.size, -1)
    held = np.where(known[:, None], columns, 0.0)
    count = np.bincount(window.days, known)
    total = np.stack(
        [np.bincount(window.days, held[:, k]) for k in range(held.shape[1])], axis=1
    )
    enough = count >= LEAST_HOURS
    mean = np.where(enough[:, None], total / np.maximum(count, 1.0)[:, None], np.nan)
    return mean.reshape(count.shape + values.shape[1:])


def _residuals(
    window: Window, t: FloatArray, h: FloatArray, days: BoolArray
) -> FloatArray:
    hours = window.known & days[window.days]
    weight = math.sqrt(1.0 / (DAY * DAYS_PER_FACT)) / TEMPERATURE_SD
    warm = (t[hours] - window.temperature[hours, None]) * weight
    e_logger = vapour_pressure(window.temperature, np.maximum(window.humidity, 1.0))
    ratio = np.log(vapour_pressure(t, np.maximum(h, 0.1)) / e_logger[:, None])
    damp = daily_mean(window, ratio)[days]
    damp = damp[np.isfinite(damp[:, 0])] / (VAPOUR_SD * math.sqrt(DAYS_PER_FACT))
    return np.concatenate([warm, damp])


def _least_squares(
    residuals: Callable[[FloatArray], FloatArray], size: int
) -> tuple[FloatArray, FloatArray]:
    """Minimise the sum of squares from the middle of the priors; also the slope there.

    ``residuals`` takes (levers, lanes) and gives (facts, lanes): one run of the kernel
    serves a point and all its neighbours.
    """
    x = np.zeros(size)
    slope = np.eye(size)
    for _ in range(_ROUNDS):
        points = np.repeat(x[:, None], size + 1, axis=1)
        points[np.arange(size), np.arange(1, size + 1)] += _STEP
        found = residuals(points)
        here = found[:, 0]
        slope = (found[:, 1:] - here[:, None]) / _STEP
        step = np.linalg.lstsq(slope, -here, rcond=None)[0]
        tries = x[:, None] + step[:, None] * np.array([1.0, 0.5, 0.25, 0.1])
        costs = (residuals(tries) ** 2).sum(axis=0)
        best = int(np.argmin(costs))
        if costs[best] >= here @ here - 1e-9:
            break
        moved = float(np.abs(tries[:, best] - x).max())
        x = tries[:, best]
        if moved < 1e-3:
            break
    return x, slope


def _prior(name: str) -> float:
    spread = PARAMETERS[name].spread
    if spread is None or spread[0] == "times":
        return PRIOR_SD_TIMES
    return PRIOR_SD_PLUS * spread[1]


def _unscaled(name: str, middle: float, sd: float, x: FloatArray) -> FloatArray:
    parameter = PARAMETERS[name]
    spread = parameter.spread
    if spread is None or spread[0] == "times":
        value = middle * np.exp(sd * x)
    else:
        value = middle + sd * x
    result: FloatArray = np.clip(value, parameter.low, parameter.high)
    return result


def _rms(values: FloatArray) -> float:
    known = values[np.isfinite(values)]
    return float(np.sqrt(np.mean(known**2))) if known.size else math.nan
