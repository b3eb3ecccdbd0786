"""The air at the wood in every setting and every draw of its levers, ready to run."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, Progress
from emcforecast.ensemble.calendar import HOUR, Day, Ring, ring_of
from emcforecast.ensemble.threads import together
from emcforecast.errors import WeatherError
from emcforecast.physics.air_table import air_table
from emcforecast.storage.draws import air_members
from emcforecast.storage.drivers import drivers_of
from emcforecast.storage.settings import Setting
from emcforecast.weather.mend.monthly import hourly_from_monthly
from emcforecast.weather.series import ONE_YEAR_KINDS, has_years, require_year

if TYPE_CHECKING:
    import xarray as xr


AIRS = 8
"""Draws of a setting's levers, unless the record is very long."""
MOST_ROWS = 3_000_000
"""Rows of air held at once, about 200 MB."""
FEW_AIRS = 4
"""With fewer draws a store's own uncertainty is told too small, and that is said."""


@dataclass(frozen=True)
class AirBank:
    """Air tables of several settings under one record of weather.

    Parameters
    ----------
    settings : tuple of Setting
        In the order of the tables.
    ring : Ring
        The whole years, by local time.
    tables : ndarray, shape (settings × airs, hours, 8)
        As `emcforecast.physics.air_table.air_table` makes them; draw k of setting s
        is row s × airs + k.
    transfer, rain_film : ndarray, shape (settings, airs)
        Of the stack: m/s, kg/m².
    airs : int
        Draws of each setting.
    many_years : bool
        Whether a year-to-year range may be read off the record.
    calendar : bool
        Whether its years are real ones, not a typical year or normals.
    ahead : ndarray, shape (settings × airs, rows, 8) or None
        The weather forecast, from the local midnight before the record ends.
    fallbacks : tuple of str
        What the weather lacked and what stood in for it.
    threads : int or None
        Cores that one run of boards may use; all when None. Whoever follows several
        stacks at once gives each of them one.
    mixed : dict
        The forecast as it was faded into years so far (`outlook.faded` keeps it).
    """

    settings: tuple[Setting, ...]
    ring: Ring
    tables: FloatArray = field(repr=False)
    transfer: FloatArray = field(repr=False)
    rain_film: FloatArray = field(repr=False)
    airs: int
    many_years: bool
    calendar: bool
    ahead: FloatArray | None = field(default=None, repr=False)
    fallbacks: tuple[str, ...] = ()
    threads: int | None = None
    mixed: dict[int, FloatArray] = field(
        default_factory=dict, repr=False, compare=False
    )

    @property
    def ahead_days(self) -> int:
        """Whole days from the end of the record that the weather forecast covers."""
        return 0 if self.ahead is None else self.ahead.shape[1] // 24

    def index(
        self, setting: int | NDArray[np.int64], air: NDArray[np.int64]
    ) -> NDArray[np.int64]:
        """Row of the tables for draws of a setting."""
        return setting * self.airs + air

    def actual_days(self, begun: Day, today: Day | None) -> int:
        """Days from a start for which the record holds the actual weather.

        Parameters
        ----------
        begun : datetime64[D]
            The start.
        today : datetime64[D], optional
            Count up to here only.
        """
        if not self.calendar or self.ring.row_of(begun) is None:
            return 0
        end = self.ring.end.astype("datetime64[D]")
        last = end if today is None else min(end, today)
        return max(int((last - begun).astype(np.int64)), 0)

    def mean_rest(self, setting: int) -> float:
        """Return the mean EMC of a setting as stated, kg/kg: a start for dry boards."""
        return float(np.nanmean(self.tables[setting * self.airs, :, 4]))

    def driest_month(self, setting: int) -> float:
        """Return the lowest mean EMC of a twelfth of the year there, over all years."""
        hourly = self.tables[setting * self.airs, :, 4]
        months = np.nanmean(hourly[: hourly.size // 730 * 730].reshape(-1, 730), axis=1)
        return float(min(np.nanmean(months[k::12]) for k in range(12)))


def air_bank(
    weather: "xr.Dataset",
    settings: Sequence[Setting],
    *,
    airs: int = AIRS,
    seed: int = 0,
    progress: Progress | None = None,
) -> AirBank:
    """Work out the air at the wood once, for all the boards to come.

    Parameters
    ----------
    weather : Dataset
        A weather series, hourly or monthly. Rows from the time in the attribute
        ``forecast_from`` (ISO, UTC) on are a weather forecast, not a record.
    settings : sequence of Setting
        The places, each once.
    airs : int
        Draws of each setting's levers; 1 takes it as stated.
    seed : int
        The same seed gives the same draws.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    AirBank

    Raises
    ------
    WeatherError
        When the series does not cover a year.
    """
    require_year(weather)
    hourly = (
        hourly_from_monthly(weather) if weather.attrs["step"] == "month" else weather
    )
    times = hourly["time"].to_numpy()
    known = _recorded(hourly, times)
    offset = local_offset(hourly)
    ring = ring_of(times[:known], offset)
    asked = airs
    airs = max(1, min(asked, MOST_ROWS // (ring.hours * len(settings))))
    tables = np.empty((len(settings) * airs, ring.hours, 8))
    # A forecast made in the afternoon begins with the morning that was.
    begins = known - int((ring.end - ring.end.astype("datetime64[D]")) // HOUR)
    ahead = np.empty((len(settings) * airs, times.size - begins, 8))
    transfer = np.empty((len(settings), airs))
    film = np.empty((len(settings), airs))
    drivers_of(hourly)  # once, and kept for every place

    def fill(s: int) -> list[str]:
        if progress is not None:
            progress(s / len(settings), f"air in the {settings[s].about.title}")
        air = air_members(hourly, settings[s], airs, seed)
        rows = slice(s * airs, (s + 1) * airs)
        whole = air_table(*_columns(air))
        tables[rows] = whole[:, ring.skipped : ring.skipped + ring.hours]
        ahead[rows] = whole[:, begins:]
        transfer[s] = _stack_number(air, "surface_transfer")
        film[s] = _stack_number(air, "rain_film")
        return list(air.attrs.get("fallbacks", ()))

    notes = together(fill, range(len(settings)))
    fallbacks = list(dict.fromkeys(note for some in notes for note in some))
    if airs < min(asked, FEW_AIRS):
        fallbacks.append(
            f"So long a record leaves room for {airs} of {asked} draws of each store: "
            "what is not known of a store counts too little in the ranges. Fewer "
            "years or places mend that."
        )
    if np.isnan(tables[0, :, 4]).mean() > 0.5:
        raise WeatherError(
            "more than half of the record has no temperature or humidity; "
            "`emcforecast check` lists what it holds"
        )
    return AirBank(
        tuple(settings),
        ring,
        tables,
        transfer,
        film,
        airs,
        has_years(hourly) and ring.years > 1,
        weather.attrs["kind"] not in ONE_YEAR_KINDS,
        ahead if times.size > known else None,
        tuple(fallbacks),
    )


def local_offset(weather: "xr.Dataset") -> float:
    """Hours that local standard time is ahead of UTC, from the longitude if need be."""
    attrs = weather.attrs
    if "utc_offset" in attrs:
        return float(attrs["utc_offset"])
    return float(round(attrs["longitude"] / 15.0)) if "longitude" in attrs else 0.0


def _recorded(hourly: "xr.Dataset", times: NDArray[np.datetime64]) -> int:
    """Rows before the weather forecast begins."""
    begins = hourly.attrs.get("forecast_from")
    if begins is None:
        return int(times.size)
    return int(np.searchsorted(times, np.datetime64(begins, "ns")))


def _columns(air: "xr.Dataset") -> tuple[FloatArray, FloatArray, FloatArray | None]:
    rain = (
        air["precipitation"].transpose(..., "time").to_numpy()
        if "precipitation" in air
        else None
    )
    return (
        air["air_temperature"].transpose("member", "time").to_numpy(),
        air["relative_humidity"].transpose("member", "time").to_numpy(),
        rain,
    )


def _stack_number(air: "xr.Dataset", name: str) -> FloatArray:
    """One number a member, given as a variable or, the same for all, an attribute."""
    value = air[name].to_numpy() if name in air else air.attrs[name]
    return np.asarray(value, dtype=np.float64)
