"""Runs of one stack: draws of what is not known, each in its own weather."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.boards import (
    Boards,
    profile,
    start_state,
)
from emcforecast.ensemble.calendar import DAY_HOURS, Day, days_between
from emcforecast.ensemble.draws import Members
from emcforecast.ensemble.route import Stack, cut_profile
from emcforecast.ensemble.run_boards import Moisture, run_boards
from emcforecast.ensemble.weather_ahead import blend


@dataclass(frozen=True)
class WeatherPaths:
    """Which row of the weather record every run meets, day by day.

    Parameters
    ----------
    since : tuple of int
        The days, counted from the start, on which a stretch of the record begins.
    rows : tuple of ndarray of int, shape (runs,)
        Row of each run on that day; the record goes on from there.
    forecast_from : int or None
        Day on which the weather forecast begins; None where it is not used.
    """

    since: tuple[int, ...]
    rows: tuple[IntArray, ...]
    forecast_from: int | None = None

    def row_on(self, day: int, hours: int) -> IntArray:
        """Row of each run on a day, in a record of so many hours."""
        k = max(int(np.searchsorted(self.since, day, side="right")) - 1, 0)
        result: IntArray = (self.rows[k] + DAY_HOURS * (day - self.since[k])) % hours
        return result

    def stretch(self, day: int, until: int, forecast_days: int) -> tuple[int, int]:
        """Return the end of the stretch of weather a day lies in, and forecast days.

        The second is how many days of the weather forecast are over by then, or -1
        where the day lies outside it.
        """
        ends = [until, *(since for since in self.since if since > day)]
        skip = -1
        if self.forecast_from is not None and until > day:
            last = self.forecast_from + forecast_days
            if self.forecast_from <= day < last:
                skip = day - self.forecast_from
                ends = [until, last]
            elif day < self.forecast_from:
                ends.append(self.forecast_from)
        return min(ends), skip

    def take(self, index: IntArray) -> "WeatherPaths":
        """Return the paths of some runs; a number may come again."""
        return replace(self, rows=tuple(rows[index] for rows in self.rows))

    def from_day(
        self, day: int, rows: IntArray, forecast_from: int | None
    ) -> "WeatherPaths":
        """Return paths that go on elsewhere in the record from a day on."""
        return WeatherPaths((*self.since, day), (*self.rows, rows), forecast_from)


@dataclass(frozen=True)
class Ensemble:
    """Runs of one stack: draws of what is not known, each in its own weather.

    Parameters
    ----------
    air : StorageAir
        The air of every place.
    members : Members
        One draw a run.
    boards : Boards
        One board a run, as it is after the cuts so far.
    weather : WeatherPaths
        The weather of each run.
    year : ndarray of int, shape (runs,)
        The calendar year whose weather a run goes on with after the known one.
    member : ndarray of int, shape (runs,)
        Number of its draw; runs of one draw share it.
    """

    air: StorageAir
    members: Members
    boards: Boards
    weather: WeatherPaths
    year: IntArray
    member: IntArray

    @property
    def count(self) -> int:
        """How many runs."""
        return self.boards.count

    def take(self, index: IntArray) -> "Ensemble":
        """Return some of the runs; a number may come again."""
        return replace(
            self,
            members=self.members.take(index),
            boards=self.boards.take(index),
            weather=self.weather.take(index),
            year=self.year[index],
            member=self.member[index],
        )

    def run(
        self,
        state: FloatArray,
        day: int,
        until: int,
        places: IntArray,
        starts: IntArray,
        run: IntArray | None = None,
    ) -> Moisture:
        """Run boards on from one day to another, each by its own route.

        Parameters
        ----------
        state : ndarray, shape (n, boards)
            Of the boards on the day.
        day, until : int
            Days since the start.
        places, starts : ndarray of int, shape (legs, boards) or (legs, 1)
            Place of each leg and the day since the start on which it begins; the first
            leg's is `day` or before, a leg beyond `until` never begins.
        run : ndarray of int, shape (boards,), optional
            Which run each board is of; one board a run when left out.

        Returns
        -------
        Moisture
            Daily from `day` to `until`.
        """
        if run is not None:
            # Boards of one run meet the same air: side by side they share its rows.
            order = np.argsort(run, kind="stable")
            if (order[1:] < order[:-1]).any():
                shape = (places.shape[0], run.size)
                places = np.broadcast_to(places, shape)[:, order]
                starts = np.broadcast_to(starts, shape)[:, order]
                sorted_run = self.run(
                    state[:, order], day, until, places, starts, run[order]
                )
                return sorted_run.take(np.argsort(order, kind="stable"))
        these = self if run is None else self.take(run)
        shape = (places.shape[0], these.count)
        places = np.broadcast_to(places, shape)
        starts = np.broadcast_to(starts, shape)
        whole: Moisture | None = None
        while whole is None or day < until:
            end, skip = these.weather.stretch(day, until, self.air.forecast_days)
            part = these._stretch(state, day, end, skip, places, starts)
            whole = part if whole is None else whole.then(part)
            state, day = part.state, end
        return whole

    def _stretch(
        self,
        state: FloatArray,
        day: int,
        until: int,
        skip: int,
        places: IntArray,
        starts: IntArray,
    ) -> Moisture:
        """Run on in one stretch of weather."""
        air, rows = self.air, self.weather.row_on(day, self.air.years.hours)
        leg_day = np.maximum(starts - day, 0)
        if skip < 0:
            return air.run(
                self.boards, state, place=places, start_row=rows, days=until - day,
                leg_day=leg_day,
            )  # fmt: skip
        index = air.index(places, self.boards.storage_draw)
        tables, number = blend(air, index, rows, until - day, skip)
        return run_boards(
            tables, self.boards, state, air_index=number, start_row=0,
            hours=DAY_HOURS * (until - day), leg_hour=DAY_HOURS * leg_day,
            threads=air.threads,
        )  # fmt: skip

    def stay(self, state: FloatArray, day: int, until: int, place: int) -> Moisture:
        """Let every run stay in one place from one day to another."""
        return self.run(state, day, until, np.array([[place]]), np.array([[day]]))


def run_route(
    stack: Stack, ensemble: Ensemble, state: FloatArray, day: int, until: int
) -> tuple[Ensemble, Moisture]:
    """Run a stack on along its route, cutting its boards where that is due."""
    places, starts = stack.legs_from(day)
    legs = places[:, None], starts[:, None]
    whole = ensemble.run(state, day, day, *legs)
    for cut in stack.cuts:
        due = days_between(stack.begun, cut.day)
        # A cut on the last day is made when the stack is followed on.
        if not day <= due < until:
            continue
        whole = whole.then(ensemble.run(whole.state, day, due, *legs))
        day, now = due, float(ensemble.boards.thickness[0]) * 1000.0
        content = cut_profile(profile(ensemble.boards, whole.state), now, cut)
        ensemble = replace(ensemble, boards=ensemble.boards.cut_to(cut.thickness_mm))
        whole = replace(whole, state=start_state(ensemble.boards, content))
    return ensemble, whole.then(ensemble.run(whole.state, day, until, *legs))


def starts_of(
    air: StorageAir, day: Day, years: Sequence[int] | None
) -> tuple[IntArray, IntArray]:
    """Return the rows at which weather years begin on a day, and which years."""
    rows, names = air.years.starts(day)
    if years is None:
        return rows, names
    kept = np.isin(names, np.asarray(years))
    return rows[kept], names[kept]


def forecast_from_day(
    air: StorageAir, begun: Day, day: int, today: Day | None
) -> int | None:
    """Day on which the weather forecast begins for a stack that stands on a day."""
    if air.forecast is None or not air.real_years:
        return None
    end = air.years.last_day
    begins = days_between(begun, end)
    cut_off = today is not None and today < end
    return None if cut_off or day < begins else begins
