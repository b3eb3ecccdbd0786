"""Moisture by day of every run of a stack: quantiles, subsets, going on."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.ensemble.calendar import DAY_HOURS, Day
from emcforecast.ensemble.percentiles import LEVELS, predictive, quantiles
from emcforecast.ensemble.route import Stack
from emcforecast.ensemble.run_boards import Moisture
from emcforecast.ensemble.runs import Ensemble, forecast_from_day, run_route, starts_of
from emcforecast.ensemble.weather_ahead import blend


@dataclass(frozen=True)
class Trajectories:
    """Moisture by day of every run of a stack; % of oven-dry mass.

    Parameters
    ----------
    stack : Stack
        What was followed.
    ensemble : Ensemble
        The runs.
    mean, shell, core : ndarray, shape (days + 1, runs)
        At the start of each local day.
    state : ndarray
        Of the boards on the last day, to go on from.
    weight : ndarray, shape (runs,)
        Sums to 1; equal until readings have their say.
    known_to : datetime64[D]
        Up to here the weather is the actual one, the same in every run.
    years : tuple of int
        The weather years.
    informed : bool
        Whether readings have singled out some draws.
    """

    stack: Stack
    ensemble: Ensemble = field(repr=False)
    mean: FloatArray
    shell: FloatArray
    core: FloatArray
    state: FloatArray = field(repr=False)
    weight: FloatArray
    known_to: Day
    years: tuple[int, ...]
    informed: bool = False

    @property
    def begun(self) -> Day:
        """Day of the first record."""
        return self.stack.begun

    @property
    def days(self) -> int:
        """Length, days."""
        return int(self.mean.shape[0]) - 1

    @property
    def dates(self) -> NDArray[np.datetime64]:
        """Day of every record, shape (days + 1,)."""
        return self.begun + np.arange(self.days + 1)

    @property
    def year(self) -> IntArray:
        """Weather year of every run."""
        return self.ensemble.year

    def first_below(self, mc: float) -> FloatArray:
        """Days until the mean is first at a content (%) or below, shape (runs,).

        With fractions of a day; infinite where it never is.
        """
        return first_below(self.mean, mc)

    def range_of(
        self, values: FloatArray, levels: Sequence[float] = LEVELS
    ) -> tuple[float, ...]:
        """Quantiles of one value a run, allowing for how few years there are.

        Parameters
        ----------
        values : ndarray, shape (runs,)
            Infinite where a run never gets there.
        levels : sequence of float
            0 to 1.
        """
        draws = self.ensemble.members.air if self.informed else None
        wanted = predictive(values, self.weight, self.year, levels, draws)
        return quantiles(values, self.weight, wanted)

    def reweighted(self, weight: FloatArray) -> "Trajectories":
        """Return the same runs with other weights."""
        return replace(self, weight=weight / weight.sum(), informed=True)

    def of_years(self, years: Sequence[int]) -> "Trajectories":
        """Return the runs of some weather years only."""
        keep = np.flatnonzero(np.isin(self.year, np.asarray(years)))
        weight = self.weight[keep]
        return replace(
            self,
            ensemble=self.ensemble.take(keep),
            mean=self.mean[:, keep],
            shell=self.shell[:, keep],
            core=self.core[:, keep],
            state=self.state[:, keep],
            weight=weight / weight.sum(),
            years=tuple(int(y) for y in years),
        )

    def extend(self, days: int) -> "Trajectories":
        """Follow the same runs up to a longer length, days from the start."""
        if days <= self.days:
            return self
        ensemble, later = run_route(
            self.stack, self.ensemble, self.state, self.days, days
        )
        path = Moisture(self.mean, self.shell, self.core, self.state).then(later)
        return replace(
            self,
            ensemble=ensemble,
            mean=path.mean,
            shell=path.shell,
            core=path.core,
            state=path.state,
        )

    def deal_years(
        self,
        index: IntArray,
        weight: FloatArray,
        days: int,
        *,
        today: Day | None = None,
        years: Sequence[int] | None = None,
    ) -> "Trajectories":
        """Let some runs go on from where they end, each with the next weather year.

        Parameters
        ----------
        index : ndarray of int
            Which of them; a number may come again.
        weight : ndarray
            Of each; scaled to the sum 1.
        days : int
            Length from the first day, beyond what they have.
        today : datetime64[D], optional
            As for `follow`.
        years : sequence of int, optional
            Weather years to deal out; all when left out.

        Notes
        -----
        What a stack went through tells how it stands, not which weather comes next: so
        runs of a past that is not known do not go on with the year they began in.
        """
        air = self.ensemble.air
        rows, names = starts_of(air, self.begun + np.timedelta64(self.days, "D"), years)
        number = np.arange(index.size) % names.size
        ensemble = self.ensemble.take(index)
        forecast = forecast_from_day(air, self.begun, self.days, today)
        ensemble = replace(
            ensemble,
            weather=ensemble.weather.from_day(self.days, rows[number], forecast),
            year=names[number],
        )
        part = replace(
            self,
            ensemble=ensemble,
            mean=self.mean[:, index],
            shell=self.shell[:, index],
            core=self.core[:, index],
            state=self.state[:, index],
            weight=weight / weight.sum(),
            years=tuple(names.tolist()),
        )
        return part.extend(days)

    def air_along(
        self, run: int, first: int, last: int
    ) -> tuple[FloatArray, BoolArray]:
        """Air that one run meets, by the hour, and where rain reaches the wood.

        Parameters
        ----------
        run : int
            Its number.
        first, last : int
            Days since the start.

        Returns
        -------
        table : ndarray, shape (hours, 8)
            As `emcforecast.physics.boards.air_table` has it.
        exposed : ndarray of bool, shape (hours,)
        """
        one = self.ensemble.take(np.array([run]))
        air, draws = one.air, one.boards.storage_draw
        place = self.stack.place_by_day(last)[first:]
        tables = []
        day = first
        while day < last:
            end, skip = one.weather.stretch(day, last, air.forecast_days)
            row = one.weather.row_on(day, air.years.hours)
            hours = np.arange(DAY_HOURS * (end - day))
            at = np.repeat(place[day - first : end - first], DAY_HOURS)
            index = air.index(at, draws)
            if skip < 0:
                tables.append(air.tables.table[index, (row + hours) % air.years.hours])
            else:
                kinds = np.unique(index)
                blended, _ = blend(air, kinds[:, None], row, end - day, skip)
                tables.append(blended.table[np.searchsorted(kinds, index), hours])
            day = end
        film = air.tables.rain_film[air.index(np.repeat(place, DAY_HOURS), draws)]
        return np.concatenate(tables), film > 0.0


def first_below(mean: FloatArray, mc: float) -> FloatArray:
    """First day at or below a content in daily records, shape (days, runs).

    Examples
    --------
    >>> first_below(np.array([[25.0, 25.0], [21.0, 24.0], [19.0, 23.0]]), 20.0)
    array([1.5, inf])
    """
    low = mean <= mc
    day = np.argmax(low, axis=0)
    column = np.arange(mean.shape[1])
    before = mean[np.maximum(day - 1, 0), column]
    after = mean[day, column]
    step = np.where(before > after, before - after, 1.0)
    share = np.where(day > 0, (before - mc) / step, 1.0)
    result: FloatArray = np.where(
        low.any(axis=0), np.maximum(day - 1 + share, 0.0), np.inf
    )
    return result
