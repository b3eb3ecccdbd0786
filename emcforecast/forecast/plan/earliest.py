"""When wood that cannot be ready by the need date can be, and how."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.boards import Run
from emcforecast.ensemble.threads import together
from emcforecast.forecast.plan.arrivals import Stay, arrivals, stay
from emcforecast.forecast.plan.runs import Cast
from emcforecast.forecast.plan.search import Route
from emcforecast.forecast.plan.success import (
    EVENS,
    HAIR,
    SURE,
    holds,
    is_fit,
    may_enter,
)
from emcforecast.forecast.targets import Target

LOOKS = (120, 400, 1100)
"""Days beyond the need date that are looked at, and again where nothing is found."""
BEFORE = 300
"""Moves are tried from this long before the need date on."""
STRIDE, FINE = 28, 7
"""Days between tried moves, at first and near the best."""
AS_SOON = 7
"""Days that do not buy an open stack."""
MARGIN = 60
"""Days beyond the date found by a few runs that all runs are followed."""


@dataclass(frozen=True)
class Later:
    """The first day after the need date on which wood can be ready.

    Parameters
    ----------
    day : int
        Days since the stacking.
    route : Route
        With the last day of moving that does it and its chance then.
    """

    day: int
    route: Route


@dataclass(frozen=True)
class _Way:
    """Places up to the last but one, and the days of the moves between them."""

    settings: tuple[int, ...]
    moves: tuple[int, ...]


@dataclass(frozen=True)
class _Try:
    """Chances of one chain of places, by day of the last move and day of use.

    Where nothing is moved, `moved` is empty and `chance` has one row.
    """

    way: _Way
    last: int | None
    moved: IntArray
    chance: FloatArray

    def first(self, level: float) -> int | None:
        """Return the number of the first day of use with a chance, by any move."""
        good = (self.chance >= level - HAIR).any(axis=0)
        return int(np.argmax(good)) if good.any() else None

    def told(self, number: int, level: float, need: int) -> Later:
        """Tell of a day of use, with the last move that does it."""
        good = np.flatnonzero(self.chance[:, number] >= level - HAIR)
        row = int(good[-1]) if good.size else int(np.argmax(self.chance[:, number]))
        chance = float(self.chance[row, number])
        if self.last is None:
            route = Route(self.way.settings, self.way.moves, chance, 0.0)
        else:
            moves = (*self.way.moves, int(self.moved[row]))
            route = Route((*self.way.settings, self.last), moves, chance, 0.0)
        return Later(need + 1 + number, route)


@dataclass(frozen=True)
class _Question:
    """What is asked of every run."""

    from_mc: float | None
    need: int
    target: Target


def earliest(
    few: Cast,
    runs: Cast,
    begins: Sequence[int],
    best: Route,
    from_mc: float | None,
    need: int,
    target: Target,
) -> tuple[Later | None, Later | None]:
    """Find the first day after the need date on which the wood can be ready.

    Parameters
    ----------
    few, runs : Cast
        A few runs to look with, and all to judge with.
    begins : sequence of int
        Places in which the stack may begin.
    best : Route
        The best route to the need date: its way to the last place is tried too.
    from_mc : float, optional
        Moisture when stacked, % MC.
    need : int
        Days from the stacking to the need date.
    target : Target
        What the wood must be fit for.

    Returns
    -------
    sure, even : Later or None
        The first day that is 90 % sure by any move, and the first that has an even
        chance; None where there is none within three years.
    """
    asked = _Question(from_mc, need, target)
    bare_last = sorted(begins, key=lambda k: runs.bank.settings[k].kind == "stack")
    ways = [_Way((k,), ()) for k in bare_last]
    if len(best.moves) > 1:
        ways.append(_Way(best.settings[:-1], best.moves[:-1]))
    even: Later | None = None
    for look in LOOKS:
        stride = STRIDE if look < LOOKS[-1] else 2 * STRIDE
        begin = max(need - BEFORE, runs.first_move)
        dates = np.arange(begin, need + look, stride)
        found = together(partial(_tries, few, dates, need + look, asked), ways)
        tries = [one for some in found for one in some]
        if even is None and best.chance < EVENS:
            even = _exactly(runs, tries, EVENS, asked)
        sure = _exactly(runs, tries, SURE, asked)
        if sure is not None:
            return sure, even
    return None, even


def _soonest(tries: Sequence[_Try], level: float) -> tuple[int, int] | None:
    """Find the first day of use with a chance, by number, and the try that has it.

    Of tries that come within a week of the first, the plainest: they stand in order.
    """
    firsts = [(t.first(level), k) for k, t in enumerate(tries)]
    good = [(day, k) for day, k in firsts if day is not None]
    if not good:
        return None
    soon = min(good)[0] + AS_SOON
    return min((pair for pair in good if pair[0] <= soon), key=lambda pair: pair[1])


def _exactly(
    runs: Cast, tries: Sequence[_Try], level: float, asked: _Question
) -> Later | None:
    """Judge the neighbourhood of the first that a few runs found with all of them."""
    found = _soonest(tries, level)
    if found is None:
        return None
    number, rough = found[0], tries[found[1]]
    told = rough.told(number, level, asked.need)
    until = told.day + MARGIN
    dates = np.zeros(0, np.int64)
    if rough.last is not None:
        move = told.route.moves[-1]
        begin = max(runs.first_move, (0, *rough.way.moves)[-1] + 1)
        dates = np.arange(max(move - STRIDE, begin), move + STRIDE, FINE)
        dates = dates[dates < until]
    fine = _tries(runs, dates, until, asked, rough.way, rough.last)
    exact = _soonest(fine, level)
    return told if exact is None else fine[exact[1]].told(exact[0], level, asked.need)


def _tries(
    runs: Cast,
    dates: IntArray,
    until: int,
    asked: _Question,
    way: _Way,
    last: int | None = None,
) -> list[_Try]:
    """Stay at the end of a way, and move from there into every further place.

    Parameters
    ----------
    runs : Cast
        The runs.
    dates : ndarray of int
        Days of moving to try; with none, only staying is.
    until : int
        How far to look, days since the stacking.
    asked : _Question
        What is asked.
    way : _Way
        Where they have been.
    last : int, optional
        Only this further place.
    """
    state, day = runs.come(way.settings, way.moves, asked.from_mc)
    lying = stay(runs, way.settings[-1], state, day, until, STRIDE)
    good = _good(lying.run, day, np.full(runs.runs, day), asked)
    nothing = np.zeros(0, np.int64)
    tries = [_Try(way, None, nothing, good.mean(axis=1)[None, :])]
    dates = dates[dates > day]
    if not dates.size:
        return tries
    wet = lying.wetness(dates)
    moved: list[tuple[int, int]] = []
    places = runs.bank.settings
    onward = [k for k in range(len(places)) if k not in runs.avoided]
    onward = [k for k in onward if k > way.settings[-1]]
    for k in onward if last is None else (last,):
        moved += [(int(d), k) for d in dates[may_enter(places[k], wet)]]
    chance, moves = _moved(runs, lying, sorted(moved), until, asked)
    for k in sorted({k for _, k in moved}):
        mine = moves[:, 1] == k
        tries.append(_Try(way, k, moves[mine, 0], chance[mine]))
    return tries


def _moved(
    runs: Cast,
    lying: Stay,
    moved: Sequence[tuple[int, int]],
    until: int,
    asked: _Question,
) -> tuple[FloatArray, IntArray]:
    """Chances of moves (day, place), by move and day of use."""
    n, moves = runs.runs, np.array(moved, dtype=np.int64).reshape(-1, 2)
    chance = np.zeros((len(moves), until - asked.need))
    for some in arrivals(
        runs,
        lying,
        np.repeat(moves[:, 0], n),
        np.tile(np.arange(n), len(moves)),
        np.repeat(moves[:, 1], n),
        until,
    ):
        good = _good(some.run, some.day, some.moved, asked)
        np.add.at(chance, some.number // n, good.T / n)
    return chance, moves


def _good(run: Run, day: int, moved: IntArray, asked: _Question) -> NDArray[np.bool_]:
    """Whether each board is fit for use, by day from the one after the need date."""
    target, rows = asked.target, np.arange(run.mean.shape[0])[:, None]
    fit = (rows >= moved - day) & is_fit(run.mean, run.shell, run.core, target)
    use = np.logical_or.accumulate(fit, axis=0) & holds(run.mean, target)
    ahead = day - (asked.need + 1)
    if ahead <= 0:
        return use[-ahead:]
    return np.concatenate([np.zeros((ahead, use.shape[1]), dtype=bool), use])
