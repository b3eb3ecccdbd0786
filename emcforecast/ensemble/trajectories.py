"""A stack followed through past, forecast and historical weather: one run a draw."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.boards import (
    Boards,
    boards_of,
    profile,
    start_content,
    start_state,
)
from emcforecast.ensemble.calendar import DAY_HOURS, Day, days_between
from emcforecast.ensemble.draws import Members, draw
from emcforecast.ensemble.percentiles import LEVELS, predictive, quantiles
from emcforecast.ensemble.route import Stack, cut_profile
from emcforecast.ensemble.run_boards import Moisture, run_boards
from emcforecast.ensemble.weather_ahead import blend

RUNS = 64
"""Runs wanted, weather years times draws in each: two blocks of the board kernel."""
LEAST_DRAWS_A_YEAR = 2


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
        ensemble, later = _follow_route(
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
        rows, names = _starts(air, self.begun + self.days, years)
        number = np.arange(index.size) % names.size
        ensemble = self.ensemble.take(index)
        forecast = _forecast_from(air, self.begun, self.days, today)
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


def follow(
    air: StorageAir,
    stack: Stack,
    days: int,
    *,
    members: Members | None = None,
    years: Sequence[int] | None = None,
    pairing: Literal["deal", "cross"] = "deal",
    today: Day | None = None,
    draws_a_year: int | None = None,
    seed: int = 0,
) -> Trajectories:
    """Follow a stack from its first day through every weather year.

    Parameters
    ----------
    air : StorageAir
        The air of every place on its route.
    stack : Stack
        What stands where, from when.
    days : int
        How long from the first day; longer where the actual weather goes on.
    members : Members, optional
        Draws of what is not known; enough for `RUNS` runs when left out.
    years : sequence of int, optional
        Weather years to use; all when left out.
    pairing : {"deal", "cross"}
        Deal the draws out to the years in turn, or let every draw meet every year.
    today : datetime64[D], optional
        Actual weather is used up to here where the record holds it. When left out,
        as far as the record goes.
    draws_a_year : int, optional
        Draws for each weather year, where `members` is left out.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    Trajectories

    Notes
    -----
    A run that comes to the end of the record goes on with its beginning, at the same
    date of the year. From one year, real or typical, all runs have the same weather:
    what spread remains is that of the draws alone.
    """
    known = air.known_days(stack.begun, today)
    rows, names = _starts(air, stack.begun + known, years)
    if members is None:
        each = draws_a_year or max(LEAST_DRAWS_A_YEAR, RUNS // names.size)
        members = draw(each * names.size, air.draws, seed)
    if pairing == "cross":
        member = np.repeat(np.arange(members.count), names.size)
        number = np.tile(np.arange(names.size), members.count)
    else:
        member = np.arange(members.count)
        number = member % names.size
    weather = WeatherPaths(
        (known,), (rows[number],), _forecast_from(air, stack.begun, known, today)
    )
    if known:
        begin = np.full(member.size, air.years.row_of(stack.begun), dtype=np.int64)
        weather = WeatherPaths((0, known), (begin, rows[number]), weather.forecast_from)
    chosen = members.take(member)
    boards = boards_of(stack.board, chosen)
    ensemble = Ensemble(air, chosen, boards, weather, names[number], member)
    content = start_content(stack.board, chosen, stack.start_mc, stack.start_spread)
    state = start_state(boards, content)
    days, day, past = max(days, known), 0, None
    first = np.unique(member, return_index=True)[1]
    if known and first.size < member.size:
        # Runs of one draw are alike as long as they share the actual weather.
        few, shared = _follow_route(
            stack, ensemble.take(first), state[:, first], 0, known
        )
        past = Moisture(
            shared.mean[:, member],
            shared.shell[:, member],
            shared.core[:, member],
            shared.state[:, member],
        )
        ensemble = replace(ensemble, boards=few.boards.take(member))
        state, day = past.state, known
    ensemble, path = _follow_route(stack, ensemble, state, day, days)
    path = path if past is None else past.then(path)
    return Trajectories(
        stack,
        ensemble,
        path.mean,
        path.shell,
        path.core,
        path.state,
        np.full(member.size, 1.0 / member.size),
        stack.begun + known,
        tuple(names.tolist()),
    )


def _follow_route(
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


def _starts(
    air: StorageAir, day: Day, years: Sequence[int] | None
) -> tuple[IntArray, IntArray]:
    rows, names = air.years.starts(day)
    if years is None:
        return rows, names
    kept = np.isin(names, np.asarray(years))
    return rows[kept], names[kept]


def known_to(air: StorageAir, begun: Day, today: Day | None) -> Day:
    """Return the day up to which the actual weather of a stack is used.

    Parameters
    ----------
    air : StorageAir
        The air.
    begun : datetime64[D]
        The stack's first day.
    today : datetime64[D] or None
        As for `follow`.
    """
    known: Day = begun + air.known_days(begun, today)
    return known


def _forecast_from(
    air: StorageAir, begun: Day, day: int, today: Day | None
) -> int | None:
    """Day on which the weather forecast begins for a stack that stands on a day."""
    if air.forecast is None or not air.real_years:
        return None
    end = air.years.last_day
    begins = days_between(begun, end)
    cut_off = today is not None and today < end
    return None if cut_off or day < begins else begins
