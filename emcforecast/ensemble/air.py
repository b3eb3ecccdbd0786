"""The air at the wood in every place and every draw of its parameters, ready to run."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray, IntArray, Progress, TimeArray
from emcforecast.ensemble.boards import Boards
from emcforecast.ensemble.calendar import (
    DAY_HOURS,
    HOUR,
    Day,
    WeatherYears,
    days_between,
    weather_years,
)
from emcforecast.ensemble.draws import cold_sorption_shares
from emcforecast.ensemble.run_boards import AirTables, Moisture, run_boards
from emcforecast.errors import WeatherError
from emcforecast.language import _, p_
from emcforecast.physics.boards import air_table
from emcforecast.physics.kernels.compiled import in_threads
from emcforecast.physics.pieces import in_pieces
from emcforecast.physics.sorption import cold_humidity
from emcforecast.storage.draws import air_members
from emcforecast.storage.drivers import Fallback, drivers_of, fallbacks_of
from emcforecast.storage.settings import Setting
from emcforecast.weather.mend.hours_from_means import hourly_from_monthly
from emcforecast.weather.series import ONE_YEAR_KINDS, origin_of
from emcforecast.weather.years import has_years, require_year

if TYPE_CHECKING:
    import xarray as xr

DRAWS = 8
"""Draws of a place's parameters, unless the record is very long."""
MOST_HOURS = 1_000_000
"""Hours of air held at once for a place, about 64 MB."""
FEW_DRAWS = 4
"""With fewer draws a place's own uncertainty counts too little, and that is said."""


@dataclass(frozen=True)
class StorageAir:
    """Air tables of several places under one record of weather.

    Parameters
    ----------
    places : tuple of Setting
        In the order of the tables.
    years : WeatherYears
        The whole years, by local time.
    tables : AirTables
        Draw k of place p is air p × draws + k; the first draw is the place as stated.
    draws : int
        Draws of each place.
    many_years : bool
        Whether a year-to-year range may be read off the record.
    real_years : bool
        Whether its years are real ones, not a typical year or normals.
    forecast : ndarray, shape (places × draws, rows, 8) or None
        The weather forecast, from the local midnight before the record ends.
    lacked : tuple of tuple of Fallback
        Of each place, what the weather lacked and what stood in for it.
    asked_draws : int
        Draws asked for; more than `draws` where the record is very long.
    threads : int or None
        Cores that one run of boards may use; all when None. Whoever follows several
        stacks at once gives each of them one.
    origin : dict of str to str
        Source, licence and attribution of the weather, where it says them.
    blended : dict
        The forecast as `emcforecast.ensemble.weather_ahead.blend` mixed it so far.
    driest : dict
        What `driest_spell_emc` found so far.
    """

    places: tuple[Setting, ...]
    years: WeatherYears
    tables: AirTables = field(repr=False)
    draws: int
    many_years: bool
    real_years: bool
    forecast: FloatArray | None = field(default=None, repr=False)
    lacked: tuple[tuple[Fallback, ...], ...] = ()
    asked_draws: int = DRAWS
    threads: int | None = None
    origin: dict[str, str] = field(default_factory=dict, repr=False)
    blended: dict[int, FloatArray] = field(
        default_factory=dict, repr=False, compare=False
    )
    driest: dict[tuple[int, int], float] = field(
        default_factory=dict, repr=False, compare=False
    )

    @property
    def fallbacks(self) -> tuple[Fallback, ...]:
        """What the weather lacked for any of the places, and what stood in for it."""
        return tuple(dict.fromkeys(note for some in self.lacked for note in some))

    def only(self, places: Sequence[Setting]) -> "StorageAir":
        """Return the air of some of the places, as if worked out for them alone.

        Parameters
        ----------
        places : sequence of Setting
            Each once, all among `places`.

        Raises
        ------
        ValueError
            When one is not.
        """
        if tuple(places) == self.places:
            return self
        numbers = [self.places.index(place) for place in places]
        rows: slice | IntArray = np.concatenate(
            [np.arange(self.draws) + k * self.draws for k in numbers]
        )
        if len(numbers) == 1:  # A view: the tables are large.
            rows = slice(numbers[0] * self.draws, (numbers[0] + 1) * self.draws)
        tables = self.tables
        return replace(
            self,
            places=tuple(places),
            tables=AirTables(
                tables.table[rows],
                tables.surface_transfer[rows],
                tables.rain_film[rows],
            ),
            forecast=None if self.forecast is None else self.forecast[rows],
            lacked=tuple(self.lacked[k] for k in numbers),
            blended={},
            driest={},
        )

    @property
    def forecast_days(self) -> int:
        """Whole days from the end of the record that the weather forecast covers."""
        return 0 if self.forecast is None else self.forecast.shape[1] // DAY_HOURS

    @property
    def too_few_draws(self) -> bool:
        """Whether so long a record left room for too few draws of each place."""
        return self.draws < min(self.asked_draws, FEW_DRAWS)

    def index(self, place: int | IntArray, draw: IntArray) -> IntArray:
        """Return the number of the air of a draw of a place."""
        return place * self.draws + draw

    def known_days(self, begun: Day, today: Day | None) -> int:
        """Days from a date for which the record holds the actual weather.

        Parameters
        ----------
        begun : datetime64[D]
            The date.
        today : datetime64[D], optional
            Count up to here only.
        """
        if not self.real_years or self.years.row_of(begun) is None:
            return 0
        end = self.years.last_day
        return max(days_between(begun, end if today is None else min(end, today)), 0)

    def stated_emc(self, place: int) -> FloatArray:
        """Hourly EMC of a place as stated, kg/kg, shape (hours,)."""
        emc: FloatArray = self.tables.table[place * self.draws, :, 4]
        return emc

    def mean_emc(self, place: int) -> float:
        """Return the mean EMC of a place as stated, kg/kg: a start for dry boards."""
        return float(np.nanmean(self.stated_emc(place)))

    def driest_month_emc(self, place: int) -> float:
        """Return the lowest mean EMC (kg/kg) of a twelfth of the year."""
        hourly = self.stated_emc(place)
        months = np.nanmean(hourly[: hourly.size // 730 * 730].reshape(-1, 730), axis=1)
        return float(min(np.nanmean(months[k::12]) for k in range(12)))

    def driest_spell_emc(self, place: int, days: int) -> float:
        """Return the lowest mean EMC (kg/kg) of so many days, over years and draws."""
        key = place, days
        if key not in self.driest:
            rows = slice(place * self.draws, (place + 1) * self.draws)
            hourly = self.tables.table[rows, :, 4]
            whole = hourly.shape[1] // DAY_HOURS
            daily = hourly[:, : whole * DAY_HOURS].reshape(-1, whole, DAY_HOURS)
            total = np.cumsum(daily.mean(axis=2), axis=1)
            spell = (total[:, days:] - total[:, :-days]) / days
            self.driest[key] = float(np.nanmin(spell))
        return self.driest[key]

    def run(
        self,
        boards: Boards,
        state: FloatArray,
        *,
        place: ArrayLike,
        start_row: ArrayLike,
        days: int,
        leg_day: ArrayLike | None = None,
    ) -> Moisture:
        """Run boards through the air of their places by day, wrapping at the end.

        Parameters
        ----------
        boards : Boards
            The boards, with the storage draw of each.
        state : ndarray
            From `emcforecast.ensemble.boards.start_state` or an earlier run.
        place : array_like of int
            Number of the place: one for all, or (legs, boards).
        start_row : array_like of int
            Row of the air at which each board begins.
        days : int
            How long.
        leg_day : array_like of int, shape (legs, boards), optional
            Day on which each leg begins, counted from the start; the first row is 0.
        """
        return run_boards(
            self.tables,
            boards,
            state,
            air_index=self.index(np.asarray(place), boards.storage_draw),
            start_row=start_row,
            hours=DAY_HOURS * days,
            leg_hour=None if leg_day is None else DAY_HOURS * np.asarray(leg_day),
            threads=self.threads,
        )


def storage_air(
    weather: "xr.Dataset",
    places: Sequence[Setting],
    *,
    draws: int | None = None,
    seed: int = 0,
    progress: Progress | None = None,
) -> StorageAir:
    """Work out the air at the wood once, for all the boards to come.

    Parameters
    ----------
    weather : Dataset
        A weather series, hourly or monthly. Rows from the time in the attribute
        ``forecast_from`` (ISO, UTC) on are a weather forecast, not a record.
    places : sequence of Setting
        The places, each once.
    draws : int, optional
        Draws of each place's parameters; 1 takes it as stated. `DRAWS` when left out,
        fewer for a very long record.
    seed : int
        The same seed gives the same draws, whatever other places there are.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    StorageAir

    Raises
    ------
    WeatherError
        When the series does not cover a year, or most of it is missing.
    """
    require_year(weather)
    hourly = (
        hourly_from_monthly(weather) if weather.attrs["step"] == "month" else weather
    )
    times = hourly["time"].to_numpy()
    recorded = _recorded(hourly, times)
    years = weather_years(times[:recorded], local_offset(hourly))
    asked = draws or DRAWS
    if draws is None:
        draws = max(1, min(DRAWS, MOST_HOURS // years.hours))
    airs = len(places) * draws
    table = np.empty((airs, years.hours, 8))
    # A forecast made in the afternoon begins with the morning that was.
    begins = recorded - int((years.end - years.last_day) // HOUR)
    forecast = np.empty((airs, times.size - begins, 8))
    transfer, film = np.empty(airs), np.empty(airs)
    drivers = drivers_of(hourly)
    shares = cold_sorption_shares(draws, seed)

    def fill(p: int) -> tuple[Fallback, ...]:
        if progress is not None:
            progress(
                p / len(places),
                _(
                    "air in the {place}",
                    place=p_("in the place", places[p].about.title),
                ),
            )
        air = air_members(hourly, places[p], draws, seed, drivers=drivers)
        rows = slice(p * draws, (p + 1) * draws)
        held = slice(years.skipped, years.skipped + years.hours)
        table_of(air.isel(time=held), shares, out=table[rows])
        table_of(air.isel(time=slice(begins, None)), shares, out=forecast[rows])
        transfer[rows] = air["surface_transfer"].to_numpy()
        film[rows] = air["rain_film"].to_numpy()
        return fallbacks_of(air)

    notes = in_threads(fill, range(len(places)))
    if np.isnan(table[0, :, 4]).mean() > 0.5:
        raise WeatherError(
            _(
                "more than half of the record has no temperature or "
                "humidity; `emcforecast check` lists what it holds"
            )
        )
    return StorageAir(
        tuple(places),
        years,
        AirTables(table, transfer, film),
        draws,
        has_years(hourly) and years.years > 1,
        weather.attrs["kind"] not in ONE_YEAR_KINDS,
        forecast if times.size > recorded else None,
        tuple(notes),
        asked,
        origin=origin_of(weather),
    )


def local_offset(weather: "xr.Dataset") -> float:
    """Hours that local standard time is ahead of UTC, from the longitude if need be."""
    attrs = weather.attrs
    if "utc_offset" in attrs:
        return float(attrs["utc_offset"])
    return float(round(attrs["longitude"] / 15.0)) if "longitude" in attrs else 0.0


def _recorded(hourly: "xr.Dataset", times: TimeArray) -> int:
    """Rows before the weather forecast begins."""
    begins = hourly.attrs.get("forecast_from")
    if begins is None:
        return int(times.size)
    return int(np.searchsorted(times, np.datetime64(begins, "ns")))


def table_of(
    air: "xr.Dataset",
    cold_shares: FloatArray | None = None,
    out: FloatArray | None = None,
) -> FloatArray:
    """Air tables of the members of `emcforecast.storage.draws.air_members`.

    `cold_shares` are each member's of `emcforecast.physics.sorption.cold_humidity`;
    `out` is filled, where given.
    """
    rain = (
        air["precipitation"].transpose(..., "time").to_numpy()
        if "precipitation" in air
        else None
    )
    t = air["air_temperature"].transpose("member", "time").to_numpy()
    h = air["relative_humidity"].transpose("member", "time").to_numpy()
    rest = None
    if cold_shares is not None:
        shares = cold_shares[:, None]
        rest = in_pieces(lambda t, h: cold_humidity(t, h, shares), t, h)
    return air_table(t, h, rain, rest, out)
