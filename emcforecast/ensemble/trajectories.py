"""One stack through the weather of every year, from a date on."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.draws import Members, draw
from emcforecast.ensemble.percentiles import predictive, quantiles
from emcforecast.ensemble.quantiles import LEVELS
from emcforecast.ensemble.route import Day, Leg, Stack, Walk

if TYPE_CHECKING:
    from emcforecast.ensemble.air import AirBank


MEMBERS = 16
"""Draws of the levers for each weather year."""
MEMBERS_OF_ONE_YEAR = 64


@dataclass(frozen=True)
class Traces:
    """Moisture by day in every weather year and member; % of oven-dry mass.

    Parameters
    ----------
    begun : datetime64[D]
        Day of the first record.
    mean, shell, core : ndarray, shape (days + 1, traces)
        At the start of each local day.
    year : ndarray of int, shape (traces,)
        The calendar year whose weather a trace begins with, after the actual one.
    member : ndarray of int, shape (traces,)
        Number of its draw of the levers.
    weight : ndarray, shape (traces,)
        Sums to 1; equal until readings have their say.
    actual_to : datetime64[D]
        Up to here the weather is the actual one, the same in every trace.
    members : Members
        The draws.
    years : tuple of int
        The weather years.
    end : Walk
        Where the traces stand, to go on from.
    heard : bool
        Whether readings have singled out some.
    """

    begun: Day
    mean: FloatArray
    shell: FloatArray
    core: FloatArray
    year: IntArray
    member: IntArray
    weight: FloatArray
    actual_to: Day
    members: Members
    years: tuple[int, ...]
    end: Walk = field(repr=False)
    heard: bool = False

    @property
    def days(self) -> int:
        """Length, days."""
        return int(self.mean.shape[0]) - 1

    @property
    def dates(self) -> NDArray[np.datetime64]:
        """Day of every record, shape (days + 1,)."""
        return self.begun + np.arange(self.days + 1)

    def first_below(self, mc: float) -> FloatArray:
        """Days until the mean first lies at a content or below, shape (traces,).

        Parameters
        ----------
        mc : float
            % of oven-dry mass.

        Returns
        -------
        ndarray
            With fractions of a day; infinite where it never does.
        """
        return first_below(self.mean, mc)

    def range_of(
        self, values: FloatArray, levels: Sequence[float] = LEVELS
    ) -> tuple[float, ...]:
        """Quantiles of one value a trace, allowing for how few years there are.

        Parameters
        ----------
        values : ndarray, shape (traces,)
            Infinite where a trace never gets there.
        levels : sequence of float
            0 to 1.
        """
        store = self.members.air[self.member] if self.heard else None
        wanted = predictive(values, self.weight, self.year, levels, store)
        return quantiles(values, self.weight, wanted)

    def weighed(self, weight: FloatArray) -> "Traces":
        """Return the same traces with other weights."""
        return replace(self, weight=weight / weight.sum(), heard=True)

    def of_years(self, years: Sequence[int]) -> "Traces":
        """Return the traces of some weather years only; they cannot go on."""
        keep = np.flatnonzero(np.isin(self.year, np.asarray(years)))
        weight = self.weight[keep]
        return replace(
            self,
            mean=self.mean[:, keep],
            shell=self.shell[:, keep],
            core=self.core[:, keep],
            year=self.year[keep],
            member=self.member[keep],
            weight=weight / weight.sum(),
            years=tuple(int(y) for y in years),
        )


def first_below(mean: FloatArray, mc: float) -> FloatArray:
    """First day at or below a content in daily records, shape (days, traces).

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
    bank: "AirBank",
    stack: Stack,
    days: int,
    *,
    members: Members | None = None,
    today: Day | None = None,
    years: Sequence[int] | None = None,
    seed: int = 0,
) -> Traces:
    """Run a stack through every weather year from its date on.

    Parameters
    ----------
    bank : AirBank
        The air of every setting on its route.
    stack : Stack
        What lies where, from when.
    days : int
        How long from the first day; at least 1, and as far as the actual weather goes.
    members : Members, optional
        Draws of the levers; `MEMBERS` of them when left out, more from one year.
    today : datetime64[D], optional
        Actual weather is used up to here where the record holds it. When left out,
        as far as the record goes.
    years : sequence of int, optional
        Weather years to use; all when left out.
    seed : int
        The same seed gives the same members.

    Returns
    -------
    Traces
        Every member in every year.

    Notes
    -----
    A trace that comes to the end of the record goes on with its beginning, at the
    same date of the year (see `emcforecast.ensemble.calendar`). From one year, real or
    typical, all traces have the same weather: what spread remains is that of the
    levers alone.
    """
    actual = bank.actual_days(stack.begun, today)
    days = max(days, actual)
    rows, names = _starts(bank, stack.begun + actual, years)
    if members is None:
        count = MEMBERS if bank.many_years and names.size > 1 else MEMBERS_OF_ONE_YEAR
        members = draw(count, bank.airs, seed)
    walk = Walk.begin(bank, stack, members)
    if actual:
        begin = bank.ring.row_of(stack.begun)
        walk.place(np.full(members.count, begin))
        walk.go(actual)
    member = np.repeat(np.arange(members.count), names.size)
    walk.split(member)
    walk.place(np.tile(rows, members.count))
    walk.ahead_at = _ahead_at(bank, stack.begun, actual, today)
    walk.go(days)
    return _traces(
        walk,
        np.tile(names, members.count),
        member,
        stack.begun + actual,
        tuple(names.tolist()),
    )


def go_on(traces: Traces, days: int) -> Traces:
    """Follow the same traces for longer.

    Parameters
    ----------
    traces : Traces
        From `follow` or this; left unchanged.
    days : int
        Length from the first day, beyond what they have.
    """
    walk = traces.end.copy()
    walk.go(days)
    longer = _traces(walk, traces.year, traces.member, traces.actual_to, traces.years)
    return replace(longer, weight=traces.weight, heard=traces.heard)


def fan_out(
    traces: Traces,
    index: IntArray,
    days: int,
    *,
    today: Day | None = None,
    years: Sequence[int] | None = None,
) -> Traces:
    """Let some traces go on from where they end, each through every weather year.

    Parameters
    ----------
    traces : Traces
        From `follow`; left unchanged.
    index : ndarray of int
        Which of them.
    days : int
        Length from the first day, beyond what they have.
    today : datetime64[D], optional
        As for `follow`.
    years : sequence of int, optional
        Weather years to go on with; all when left out.

    Returns
    -------
    Traces
        The years of the first of `index`, then those of the next; `year` is the year a
        trace goes on with. Every trace has the same weight.

    Notes
    -----
    What a stack went through tells how it stands, not which weather comes next: so
    traces of a past that is not known do not go on with the year they began in.
    """
    walk = traces.end.copy()
    bank = walk.bank
    rows, names = _starts(bank, traces.begun + walk.day, years)
    every = np.repeat(index, names.size)
    walk.split(every)
    walk.place(np.tile(rows, index.size))
    walk.ahead_at = _ahead_at(bank, traces.begun, walk.day, today)
    walk.go(days)
    return _traces(
        walk,
        np.tile(names, index.size),
        traces.member[every],
        traces.actual_to,
        tuple(names.tolist()),
    )


def _starts(
    bank: "AirBank", day: Day, years: Sequence[int] | None
) -> tuple[IntArray, IntArray]:
    rows, names = bank.ring.starts(day)
    if years is None:
        return rows, names
    kept = np.isin(names, np.asarray(years))
    return rows[kept], names[kept]


def known_to(bank: "AirBank", begun: Day, today: Day | None) -> Day:
    """Return the day up to which the actual weather of a stack is used.

    Parameters
    ----------
    bank : AirBank
        The air.
    begun : datetime64[D]
        The stack's first day.
    today : datetime64[D] or None
        As for `follow`.
    """
    known: Day = begun + bank.actual_days(begun, today)
    return known


def _ahead_at(bank: "AirBank", begun: Day, day: int, today: Day | None) -> int | None:
    """Day on which the weather forecast begins for a stack that stands on a day."""
    if bank.ahead is None or not bank.calendar:
        return None
    end = bank.ring.end.astype("datetime64[D]")
    begins = int((end - begun).astype(np.int64))
    cut_off = today is not None and today < end
    return None if cut_off or day < begins else begins


def _traces(
    walk: Walk, year: IntArray, member: IntArray, actual_to: Day, years: tuple[int, ...]
) -> Traces:
    """Return what has been walked so far."""
    path = np.concatenate(walk.parts)
    return Traces(
        walk.stack.begun,
        path[:, 0],
        path[:, 1],
        path[:, 2],
        year,
        member,
        np.full(year.size, 1.0 / year.size),
        actual_to,
        walk.members,
        years,
        walk,
    )


__all__ = ["Leg", "Stack", "Traces", "first_below", "follow", "go_on"]
