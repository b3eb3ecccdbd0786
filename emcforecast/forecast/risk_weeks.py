"""What could spoil the stack on its way, by week, over all weather years."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta
from math import gcd

import numpy as np

from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.ensemble.weather_ahead import humidity_of, temperature_of
from emcforecast.thickness import Thickness
from emcforecast.wood.risks.week import LEVELS, Level, Risk, RiskWeek
from emcforecast.wood.risks.weekly import weekly_risks
from emcforecast.wood.species import Species

LIKELY = 0.25
"""A risk counts at the level that at least this share of the runs reaches."""
MOST_DAYS = 364
SAMPLE, STRIDE = 13, 5
"""At least so many runs are judged; the least stride that mixes them."""


@dataclass(frozen=True)
class Danger:
    """One risk from week to week while it is at a level worth a warning.

    Parameters
    ----------
    worst : RiskWeek
        The first of the weeks at the highest level.
    start, end : datetime64[D]
        First day, and the day after the last.
    worst_start, worst_end : datetime64[D]
        The same of the first weeks on end at the level of ``worst``.
    """

    worst: RiskWeek
    start: np.datetime64
    end: np.datetime64
    worst_start: np.datetime64
    worst_end: np.datetime64

    @property
    def last(self) -> np.datetime64:
        """Last day of it."""
        return self.end - np.timedelta64(1, "D")

    @property
    def worst_last(self) -> np.datetime64:
        """Last day of its worst weeks."""
        return self.worst_end - np.timedelta64(1, "D")

    @property
    def risk(self) -> Risk:
        """Which risk it is."""
        return self.worst.risk

    @property
    def level(self) -> Level:
        """The highest level."""
        return self.worst.level


def weekly(
    runs: Trajectories, species: Species, thickness: Thickness
) -> tuple[RiskWeek, ...]:
    """Judge every week of the first year, in runs that stand for all.

    Parameters
    ----------
    runs : Trajectories
        Of the stack.
    species : Species
        Its wood.
    thickness : Thickness
        Its boards.

    Returns
    -------
    tuple of RiskWeek
        For each risk and week the level that a quarter of the runs reach.
    """
    days = min(runs.days, MOST_DAYS)
    found: dict[tuple[str, object], list[RiskWeek]] = defaultdict(list)
    for run in _sample(runs):
        for week in _along(runs, run, 0, days, species, thickness):
            found[week.risk, week.week].append(week)
    return _placed(runs, (likely_week(weeks) for weeks in found.values()))


def worst_of(boards: Sequence[tuple[RiskWeek, ...]]) -> tuple[RiskWeek, ...]:
    """Return each risk as the board of a mixed stack has it that it threatens most.

    Parameters
    ----------
    boards : sequence of tuple of RiskWeek
        Of each board, by risk; of equals the first counts.

    Returns
    -------
    tuple of RiskWeek
    """
    found: list[RiskWeek] = []
    for risk in dict.fromkeys(week.risk for weeks in boards for week in weeks):
        each = [[week for week in weeks if week.risk == risk] for weeks in boards]
        found += max(
            each,
            key=lambda weeks: max((LEVELS.index(w.level) for w in weeks), default=-1),
        )
    return tuple(found)


def spells(weeks: tuple[RiskWeek, ...], least: str = "moderate") -> tuple[Danger, ...]:
    """Join weeks of one risk at or above a level into spells, the worst first.

    Parameters
    ----------
    weeks : tuple of RiskWeek
        By risk, in order of time.
    least : str
        Lowest level to tell of.

    Returns
    -------
    tuple of Danger
    """
    found: list[list[RiskWeek]] = []
    for week in weeks:
        if LEVELS.index(week.level) < LEVELS.index(least):
            continue
        last = found[-1][-1] if found else None
        near = last is not None and (week.week - last.week).days <= 14
        if last is not None and last.risk == week.risk and near:
            found[-1].append(week)
        else:
            found.append([week])
    dangers = [_spell(spell) for spell in found]
    return tuple(sorted(dangers, key=lambda d: -LEVELS.index(d.level)))


def _spell(weeks: list[RiskWeek]) -> Danger:
    at = max(range(len(weeks)), key=lambda k: LEVELS.index(weeks[k].level))
    worst = weeks[at]
    until = worst.week
    for week in weeks[at:]:
        if week.level == worst.level and week.week - until <= timedelta(days=14):
            until = week.week
    first, last, bad, badly = (
        np.datetime64(day, "D")
        for day in (weeks[0].week, weeks[-1].week, worst.week, until)
    )
    seven = np.timedelta64(7, "D")
    return Danger(worst, first, last + seven, bad, badly + seven)


def _sample(runs: Trajectories) -> list[int]:
    """Pick runs that stand for all: years in turn, quick and slow members mixed."""
    pace = runs.mean[: MOST_DAYS + 1].mean(axis=0)
    years = np.unique(runs.year)
    count = max(SAMPLE, years.size)
    # A stride that shares no factor with the count visits every rank once.
    stride = next(k for k in range(STRIDE, STRIDE + count) if gcd(k, count) == 1)
    ranks = (np.arange(count) * stride) % count
    chosen = []
    for k, rank in enumerate(ranks):
        mine = np.flatnonzero(runs.year == years[k % years.size])
        order = mine[np.argsort(pace[mine], kind="stable")]
        chosen.append(int(order[int((rank + 0.5) / count * order.size)]))
    return chosen


def risks_along(
    runs: Trajectories,
    run: int,
    first: int,
    last: int,
    species: Species,
    thickness: Thickness,
) -> tuple[RiskWeek, ...]:
    """Judge the risks of one run, week by week.

    Parameters
    ----------
    runs : Trajectories
        The stack, at least to the last day.
    run : int
        Which run.
    first, last : int
        Days since the start.
    species : Species
        Its wood.
    thickness : Thickness
        Its boards.

    Returns
    -------
    tuple of RiskWeek
        None where the run's weather has gaps.
    """
    return _placed(runs, _along(runs, run, first, last, species, thickness))


def _along(
    runs: Trajectories,
    run: int,
    first: int,
    last: int,
    species: Species,
    thickness: Thickness,
) -> tuple[RiskWeek, ...]:
    air, exposed = runs.air_along(run, first, last)
    if not np.isfinite(air).all():
        return ()
    hours = np.arange(24 * first, 24 * last)
    day = np.arange(runs.days + 1)
    mean, shell, core = (
        np.interp(hours / 24.0, day, path[:, run])
        for path in (runs.mean, runs.shell, runs.core)
    )
    return weekly_risks(
        runs.begun.astype("datetime64[h]") + hours,
        temperature_of(air),
        humidity_of(air),
        mean,
        shell,
        species=species,
        thickness=thickness,
        core=core,
        precipitation=np.where(exposed, air[:, 7], 0.0) if exposed.any() else None,
        sealed_ends=runs.stack.board.sealed_ends,
    )


def _placed(runs: Trajectories, weeks: Iterable[RiskWeek]) -> tuple[RiskWeek, ...]:
    """Say of each week in what kind of place the stack lies on its first day."""
    route = runs.stack.route
    kinds = [runs.ensemble.air.places[leg.place].kind for leg in route]
    starts = [leg.start.astype("datetime64[D]").item() for leg in route]
    return tuple(
        replace(week, place=kinds[max(bisect_right(starts, week.week) - 1, 0)])
        for week in weeks
    )


def likely_week(weeks: list[RiskWeek]) -> RiskWeek:
    """Return the week whose level at least a quarter of the runs reach.

    Parameters
    ----------
    weeks : list of RiskWeek
        One risk of one week, in runs that stand for all.
    """
    order = sorted(weeks, key=lambda w: (LEVELS.index(w.level), w.measure))
    chosen = order[max(int(np.ceil(len(order) * (1.0 - LIKELY))) - 1, 0)]
    same = [w for w in order if w.level == chosen.level]
    return same[len(same) // 2]
