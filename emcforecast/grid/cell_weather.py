"""From the weather of one cell of a grid to hours of a weather series."""

from dataclasses import dataclass
from typing import Any

import numpy as np
import xarray as xr

from emcforecast._types import FloatArray, TimeArray
from emcforecast.errors import WeatherError
from emcforecast.grid.series import STEPS
from emcforecast.language import _
from emcforecast.weather.mend.gaps import fill_gaps
from emcforecast.weather.mend.hours_from_means import (
    hourly_from_daily,
    hourly_from_monthly,
)
from emcforecast.weather.mend.quality import hourly_grid
from emcforecast.weather.series import KINDS, make_series
from emcforecast.weather.years import require_year

HOUR = np.timedelta64(1, "h")
LONGEST_GAP = np.timedelta64(10, "D")
"""A longer gap is none that a cell's own days could fill."""


@dataclass(frozen=True)
class CellsWeather:
    """Weather of some cells over the same times.

    Parameters
    ----------
    times : ndarray of datetime64, shape (n,)
        UTC, start of interval.
    step, kind : str
        As in `emcforecast.grid.series`.
    variables : dict of str to ndarray, shape (cells, n)
        In series units, NaN where masked.
    latitude, longitude, utc_offset : ndarray, shape (cells,)
        Degrees north and east; h.
    elevation : ndarray, shape (cells,), or None
        m.
    """

    times: TimeArray
    step: str
    kind: str
    variables: dict[str, FloatArray]
    latitude: FloatArray
    longitude: FloatArray
    utc_offset: FloatArray
    elevation: FloatArray | None = None

    def is_masked(self, cell: int) -> bool:
        """Tell whether a cell has no place, or nowhere both air variables."""
        if not np.isfinite(self.latitude[cell] + self.longitude[cell]):
            return True
        air = (
            self.variables[n][cell] for n in ("air_temperature", "relative_humidity")
        )
        return not all(np.isfinite(values).any() for values in air)

    def hours(self, cell: int) -> xr.Dataset | None:
        """Return the hourly weather series of a cell; None where it is masked.

        Also None where it lacks more than can be filled
        (`emcforecast.weather.mend.gaps.fill_gaps`).
        """
        if self.is_masked(cell):
            return None
        try:
            series = fill_gaps(self._series(cell))
            require_year(series)
        except WeatherError:
            return None
        return series

    def _series(self, cell: int) -> xr.Dataset:
        values = {name: values[cell] for name, values in self.variables.items()}
        about = self._about(cell)
        if self.step in ("month", "climatology"):
            known = {
                name: v
                for name, v in values.items()
                if name in ("air_temperature", "relative_humidity")
                or np.isfinite(v).all()
            }
            return hourly_from_monthly(
                make_series(self.times, known, step="month", **about)
            )
        if self.step == "day":
            return hourly_from_daily(self.times, values, **about)
        hours = round(STEPS[self.step])
        if hours > 1:
            times, values = _on_hours(self.times, values, hours)
            return hourly_grid(times, values, **about)
        if self.times[-1] - self.times[0] != (self.times.size - 1) * HOUR:
            return hourly_grid(self.times, values, **about)
        return make_series(self.times, values, step="hour", **about)

    def _about(self, cell: int) -> dict[str, Any]:
        kind = "normals" if self.step == "climatology" else self.kind
        place: dict[str, Any] = {
            "latitude": float(self.latitude[cell]),
            "longitude": float(self.longitude[cell]),
            "utc_offset": float(self.utc_offset[cell]),
        }
        if self.elevation is not None and np.isfinite(self.elevation[cell]):
            place["elevation"] = float(self.elevation[cell])
        return {
            "kind": kind if kind in KINDS else "reanalysis",
            "source": "a cell of a grid",
            **place,
        }


def _on_hours(
    times: TimeArray, values: dict[str, FloatArray], hours: int
) -> tuple[TimeArray, dict[str, FloatArray]]:
    """Put steps of several hours on hours: air at its stamp, means and sums throughout.

    The hours between are left missing in temperature and humidity, to be bridged.
    """
    axis = (times[:, None] + np.arange(hours) * HOUR).ravel()
    spread: dict[str, FloatArray] = {}
    for name, column in values.items():
        if name in ("air_temperature", "relative_humidity"):
            spread[name] = np.full(axis.size, np.nan)
            spread[name][::hours] = column
        else:
            share = 1.0 / hours if name == "precipitation" else 1.0
            spread[name] = np.repeat(column * share, hours)
    # The last step has no next to be bridged to.
    last = axis.size - hours + 1
    return axis[:last], {name: column[:last] for name, column in spread.items()}


def require_whole_years(times: TimeArray, step: str) -> None:
    """Refuse times that do not speak of every month, or have a gap too long to fill.

    Raises
    ------
    WeatherError
        With what to do.
    """
    if step in ("month", "climatology"):
        months = times.astype("datetime64[M]").astype(np.int64)
        broken = np.flatnonzero(np.diff(months) != 1)
        axis, each = times, "month"
    else:
        longest = max(LONGEST_GAP, 2 * round(STEPS[step]) * HOUR)
        broken = np.flatnonzero(np.diff(times) > longest)
        last = times[-1] + round(STEPS[step]) * HOUR
        axis, each = np.arange(times[0], last, HOUR), "hour"
    if broken.size:
        k = int(broken[0])
        before, after = (str(t.astype("datetime64[D]")) for t in times[k : k + 2])
        raise WeatherError(
            _(
                "the grid has nothing between {before} and {after}; choose "
                "years on one side of it (--years A:B), or compare the two "
                "sides (--against C:D)",
                before=before,
                after=after,
            )
        )
    zeros = ("time", np.zeros(axis.size))
    require_year(
        xr.Dataset(
            {"air_temperature": zeros, "relative_humidity": zeros},
            coords={"time": axis},
            attrs={"step": each},
        )
    )
