"""A stack of the yard followed to today and on, through every weather year."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.calendar import Day
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.percentiles import bands
from emcforecast.ensemble.route import Leg
from emcforecast.ensemble.route import Stack as Followed
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.forecast.plan.plan import LONGEST
from emcforecast.forecast.plan.success import first_day, is_ready
from emcforecast.forecast.targets import Target
from emcforecast.yard.model import Stack

SHORTEST = 400
"""Days that are looked ahead at least; at most as far as the planner plans."""
AFTER_NEED, AFTER_MOVE = 60, 400
"""Days that are looked beyond the need date, and beyond the last planned move."""
FARTHEST = 3650
"""Days ahead within which moves, and boards that still dry, are followed."""
MORE, STILL, FEW = 365, 0.2, 0.1
"""A stack nobody waits for is followed by so many days more while over a tenth of its
runs is not ready and dried by over so much (% MC) in the last of them."""
BEHIND_DAYS, AHEAD_DAYS = 120, 400
"""Days of the moisture path that are kept for a picture, at most."""
WEEK = 7
"""Days over which shell and core are averaged: a shell follows every shower."""


@dataclass(frozen=True)
class Outlook:
    """A stack through every weather year.

    Parameters
    ----------
    stack : Stack
        As the yard file has it.
    today : date
    base : Trajectories
        From stacking to today; the stacking day alone where that is still to come.
    whole : Trajectories
        The same runs, followed to the horizon along the stack's own route.
    target : Target or None
        What the stack is for.
    """

    stack: Stack
    today: date
    base: Trajectories
    whole: Trajectories
    target: Target | None = None

    @property
    def now(self) -> int:
        """Record of today, 0 when the stack begins later."""
        return self.base.days

    @property
    def weight(self) -> FloatArray:
        """Weight of every run."""
        return self.whole.weight

    @property
    def need(self) -> int | None:
        """Record of the need date, which may be beyond the horizon."""
        need = self.stack.need
        return None if need is None else (need - self.stack.stacked).days

    @cached_property
    def until_there(self) -> "Outlook":
        """The same with a stack nobody waits for followed on: `MORE` and `STILL`.

        Until it is there or dries no more; without a target no further than it is.
        """
        look = self
        while (
            self.target is not None
            and self.stack.need is None
            and look.whole.days - self.now + MORE <= FARTHEST
            and _is_under_way(look, self.target)
        ):
            look = replace(look, whole=look.whole.extend(look.whole.days + MORE))
        return look

    def day(self, record: float) -> date:
        """Return the date of a record, counted from stacking."""
        return self.stack.stacked + timedelta(days=int(record))

    def date_of(self, record: float) -> date | None:
        """Return the date of a record, or None for never."""
        return self.day(record) if np.isfinite(record) else None

    def middle(self) -> FloatArray:
        """Middle of the mean moisture by day from today, % MC, shape (days + 1,)."""
        ahead = self.whole.mean[self.now :]
        if np.ptp(self.weight) < 1e-12:
            return np.asarray(np.median(ahead, axis=1))
        return np.asarray(bands(ahead, self.weight, [0.5])[0])

    def first_ready(
        self, target: Target, runs: Trajectories | None = None
    ) -> FloatArray:
        """Record from today on at which each run is first ready, infinite if never."""
        runs, n = runs or self.whole, self.now
        ready = is_ready(runs.mean[n:], runs.shell[n:], runs.core[n:], target)
        return n + first_day(ready)

    def share_ready(self, target: Target, record: int) -> float:
        """Share of the runs that are ready at a record."""
        w = self.whole
        ready = is_ready(w.mean[record], w.shell[record], w.core[record], target)
        return float(w.weight @ ready)


def followed(stack: Stack, number: Mapping[str, int]) -> Followed:
    """Return a stack of the yard as the engine follows it."""
    legs = [Leg(number[stack.setting], np.datetime64(stack.stacked, "D"))]
    legs += [
        Leg(number[move.setting], np.datetime64(move.date, "D")) for move in stack.moves
    ]
    return Followed(stack.board, tuple(legs), start_mc=stack.from_mc)


def horizon(stack: Stack, today: date) -> int:
    """Days ahead of today, or of stacking, that matter for a stack."""
    start = max(today, stack.stacked)
    need = (stack.need - start).days + AFTER_NEED if stack.need else 0
    last = max((move.date for move in stack.moves), default=start)
    moved = (last - start).days + AFTER_MOVE
    return max(min(max(need, SHORTEST), LONGEST), min(moved, FARTHEST))


def look_ahead(
    stack: Stack,
    air: StorageAir,
    number: Mapping[str, int],
    today: date,
    target: Target | None = None,
) -> Outlook:
    """Follow a stack from stacking to the horizon, no reading counted.

    Parameters
    ----------
    stack : Stack
    air : StorageAir
        Holds every place of the stack's route.
    number : mapping of str to int
        Number of each of the yard's places in it.
    today : date
    target : Target, optional
        What it is for.

    Returns
    -------
    Outlook
    """
    now = max((today - stack.stacked).days, 0)
    base = follow(air, followed(stack, number), now, today=known_limit(air, today))
    return extended(stack, today, base, target)


def known_limit(air: StorageAir, today: date) -> Day | None:
    """Return today where the record knows more than today could, else None."""
    day = np.datetime64(today, "D")
    return day if day < air.years.last_day else None


def extended(
    stack: Stack, today: date, base: Trajectories, target: Target | None
) -> Outlook:
    """Go on to the horizon with runs that stand at today."""
    whole = base.extend(base.days + horizon(stack, today))
    return Outlook(stack, today, base, whole, target)


def _is_under_way(look: Outlook, target: Target) -> bool:
    """Tell whether more of the runs would be ready, were the look longer."""
    weight, mean = look.weight, look.whole.mean
    waiting = ~np.isfinite(look.first_ready(target))
    drier = mean[-MORE:].min(axis=0) < mean[:-MORE].min(axis=0) - STILL
    return float(weight @ (waiting & drier)) > FEW * float(weight.sum())


@dataclass(frozen=True)
class MoisturePath:
    """Moisture by day for a picture, % of oven-dry mass; arrays of shape (days,).

    Parameters
    ----------
    dates : ndarray of datetime64[D]
    low, middle, high : ndarray
        One, five and nine runs in ten.
    shell, core : ndarray
        Middle, mean of a week.
    """

    dates: NDArray[np.datetime64]
    low: FloatArray
    middle: FloatArray
    high: FloatArray
    shell: FloatArray
    core: FloatArray


def moisture_path(outlook: Outlook) -> MoisturePath:
    """Return the part of a stack's outlook that a picture shows."""
    whole = outlook.whole
    span = slice(max(outlook.now - BEHIND_DAYS, 0), outlook.now + AHEAD_DAYS + 1)
    low, middle, high = bands(whole.mean[span], whole.weight)
    shell, core = (
        _weekly(bands(path[span], whole.weight, [0.5])[0])
        for path in (whole.shell, whole.core)
    )
    return MoisturePath(whole.dates[span], low, middle, high, shell, core)


def _weekly(values: FloatArray) -> FloatArray:
    padded = np.pad(values, WEEK // 2, mode="edge")
    result: FloatArray = np.convolve(padded, np.full(WEEK, 1.0 / WEEK), mode="valid")
    return result
