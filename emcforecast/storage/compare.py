"""A logger beside the weather: what differs by month, and whether the clocks agree."""

import math
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.dates import month
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.weather.years import place_time

MOST_HOURS = 15
"""Shifts looked at, either way."""
PLAIN_GAIN = 0.08
"""How much better the correlation must get before a shift is plain."""
PLAIN_MATCH = 0.6
"""And how good it must be."""
DAMPED = 0.1
"""A daily swing is damped when it is no more than this above a lagging store's."""
LEAST_HOURS = 48
"""Hours a month needs before its mean difference is told."""


@dataclass(frozen=True)
class ClockShift:
    """How late a logger's clock runs.

    Parameters
    ----------
    hours : int
        The logger's stamps less the true time: positive when they are too late.
    correlation, unshifted : float
        Of the two courses of temperature with and without the shift.
    swing : float
        Daily swing of the logger over the expected one's.
    """

    hours: int
    correlation: float
    unshifted: float
    swing: float = 1.0

    @property
    def is_thermal_lag(self) -> bool:
        """Whether a store of heat explains the shift: late and damped together.

        One store that lags a daily course by h hours, at most six, damps it to
        cos(2 pi h/24); a wall damps it more. A clock that runs late damps nothing.
        """
        damped = math.cos(2.0 * math.pi * min(self.hours, 6) / 24.0) + DAMPED
        return self.hours > 0 and self.swing <= damped

    @property
    def plain(self) -> bool:
        """Whether the shift plainly betters the match and the building is not it."""
        return (
            self.hours != 0
            and not self.is_thermal_lag
            and self.correlation >= PLAIN_MATCH
            and self.correlation - self.unshifted >= PLAIN_GAIN
        )


def clock_shift(logger: FloatArray, expected: FloatArray) -> ClockShift:
    """Find the shift at which a logger's temperature follows the expected best.

    Parameters
    ----------
    logger, expected : ndarray, shape (hours,)
        Temperature read and expected at the same stamps, °C; NaN where unknown.

    Returns
    -------
    ClockShift
        The best of all shifts up to 15 h either way.

    Notes
    -----
    Each course is freed from its running daily mean, so that the daily course decides.

    Examples
    --------
    >>> hours = np.arange(24 * 20)
    >>> true = 10.0 + 4.0 * np.sin(2 * np.pi * hours / 24) + np.sin(hours / 31.0)
    >>> clock_shift(np.roll(true, 3), true).hours
    3
    """
    read, due = _daily_course(logger), _daily_course(expected)
    n = read.size
    found: dict[int, float] = {}
    for shift in range(-MOST_HOURS, MOST_HOURS + 1):
        a = read[max(0, shift) : n + min(0, shift)]
        b = due[max(0, -shift) : n - max(0, shift)]
        found[shift] = _correlation(a, b)
    best = max(found, key=lambda s: (found[s], -abs(s)))
    both = np.isfinite(read) & np.isfinite(due)
    spread = float(due[both].std()) if both.any() else 0.0
    swing = float(read[both].std()) / spread if spread > 0.0 else 1.0
    return ClockShift(best, found[best], found[0], swing)


def _daily_course(values: FloatArray) -> FloatArray:
    known = np.isfinite(values)
    held = np.where(known, values, 0.0)
    window = np.ones(25)
    count = np.convolve(known.astype(np.float64), window, mode="same")
    mean = np.convolve(held, window, mode="same") / np.maximum(count, 1.0)
    result: FloatArray = np.where(known, values - mean, np.nan)
    return result


def _correlation(a: FloatArray, b: FloatArray) -> float:
    known = np.isfinite(a) & np.isfinite(b)
    if np.count_nonzero(known) < 48:
        return -1.0
    x, y = a[known] - a[known].mean(), b[known] - b[known].mean()
    size = float(np.sqrt((x @ x) * (y @ y)))
    return float(x @ y) / size if size > 0.0 else 0.0


@dataclass(frozen=True)
class MonthDifference:
    """Logger less weather over one month.

    Parameters
    ----------
    month : str
        "2024-03".
    hours : int
        Hours both have.
    temperature : float
        Mean difference, K.
    relative_humidity : float
        Mean difference, % RH.
    vapour_pressure : float
        Mean difference, hPa.
    emc : float
        Mean difference of hourly EMC, % MC.
    spread_temperature, spread_emc : float
        Standard deviation of the hourly differences, K and % MC.
    """

    month: str
    hours: int
    temperature: float
    relative_humidity: float
    vapour_pressure: float
    emc: float
    spread_temperature: float
    spread_emc: float

    @property
    def label(self) -> str:
        """Month and year in words."""
        return _(
            "{month} {year}", month=month(int(self.month[5:])), year=self.month[:4]
        )


@dataclass(frozen=True)
class Comparison:
    """A logger beside the weather of the same hours.

    Parameters
    ----------
    months : tuple of MonthDifference
        In order of time.
    whole : MonthDifference
        Over all hours (its ``month`` is the first).
    shift : ClockShift
        What the clocks say.
    time : ndarray of datetime64, shape (hours,)
        Hours both have.
    weather_temperature, logger_temperature : ndarray, shape (hours,)
        °C, to be drawn against each other.
    weather_emc, logger_emc : ndarray, shape (hours,)
        % MC, to be drawn against each other.
    """

    months: tuple[MonthDifference, ...]
    whole: MonthDifference
    shift: ClockShift
    time: NDArray[np.datetime64]
    weather_temperature: FloatArray
    logger_temperature: FloatArray
    weather_emc: FloatArray
    logger_emc: FloatArray

    def as_json(self) -> dict[str, Any]:
        """Return the result document of the command."""
        whole = asdict(self.whole)
        del whole["month"]
        return {
            "months": [asdict(month) for month in self.months],
            "whole": whole,
            "clock_shift_hours": self.shift.hours if self.shift.plain else 0,
        }


def compare(logger: xr.Dataset, weather: xr.Dataset) -> Comparison:
    """Compare a logger with the weather of the same hours.

    Parameters
    ----------
    logger, weather : xarray.Dataset
        Hourly series.

    Returns
    -------
    Comparison
        Differences are logger less weather.

    Raises
    ------
    WeatherError
        When they share less than two days.

    Notes
    -----
    For a logger hung outdoors in the shade the differences are the archive's own bias;
    for one in a store they are what the store does.

    Examples
    --------
    >>> from emcforecast.weather.read import demonstration
    >>> weather = demonstration().isel(time=slice(0, 24 * 59))
    >>> logger = weather.copy()
    >>> logger["air_temperature"] = weather["air_temperature"] + 1.5
    >>> found = compare(logger, weather)
    >>> [(m.month, round(m.temperature, 2)) for m in found.months]
    [('2007-01', 1.5), ('2007-02', 1.5)]
    """
    both = xr.merge(
        [_named(logger, "logger"), _named(weather, "weather")],
        join="inner",
        compat="override",
    )
    columns = {str(k): v.to_numpy().astype(np.float64) for k, v in both.items()}
    known = np.isfinite(np.stack(list(columns.values()))).all(axis=0)
    if np.count_nonzero(known) < LEAST_HOURS:
        raise WeatherError(
            _(
                "logger and weather share {count} hours; at least "
                "{least_hours} are needed: give weather that covers the "
                "logger's time.",
                count=np.count_nonzero(known),
                least_hours=LEAST_HOURS,
            )
        )
    shift = clock_shift(columns["logger_t"], columns["weather_t"])
    time = both["time"].to_numpy()[known]
    held = {name: values[known] for name, values in columns.items()}
    month = place_time(both.assign_attrs(weather.attrs))[known].astype("datetime64[M]")
    months = tuple(
        _difference(str(m), {k: v[month == m] for k, v in held.items()})
        for m in np.unique(month)
        if np.count_nonzero(month == m) >= LEAST_HOURS
    )
    return Comparison(
        months,
        _difference(str(month[0]), held),
        shift,
        time,
        held["weather_t"],
        held["logger_t"],
        equilibrium_moisture_content(held["weather_t"], held["weather_h"]),
        equilibrium_moisture_content(held["logger_t"], held["logger_h"]),
    )


def _named(series: xr.Dataset, name: str) -> xr.Dataset:
    wanted = series[["air_temperature", "relative_humidity"]]
    return wanted.rename(
        {"air_temperature": f"{name}_t", "relative_humidity": f"{name}_h"}
    ).drop_attrs()


def _difference(month: str, held: dict[str, FloatArray]) -> MonthDifference:
    t = held["logger_t"] - held["weather_t"]
    h = held["logger_h"] - held["weather_h"]
    e = vapour_pressure(held["logger_t"], held["logger_h"]) - vapour_pressure(
        held["weather_t"], held["weather_h"]
    )
    emc = equilibrium_moisture_content(
        held["logger_t"], held["logger_h"]
    ) - equilibrium_moisture_content(held["weather_t"], held["weather_h"])
    return MonthDifference(
        month,
        int(t.size),
        float(t.mean()),
        float(h.mean()),
        float(e.mean()) / 100.0,
        float(emc.mean()),
        float(t.std()),
        float(emc.std()),
    )
