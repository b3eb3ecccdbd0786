"""The first day on which wood can be ready, and the move that does it."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from emcforecast._types import BoolArray, FloatArray, IntArray
from emcforecast.ensemble.boards import Moisture
from emcforecast.ensemble.threads import in_threads
from emcforecast.forecast.plan.arrivals import Stay, arrivals, stay
from emcforecast.forecast.plan.question import Question, Route
from emcforecast.forecast.plan.success import EVENS, HAIR, SURE, is_ready, may_enter

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
class EarliestDay:
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

    places: tuple[int, ...]
    moves: tuple[int, ...]


@dataclass(frozen=True)
class _Trial:
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

    def on(self, number: int, level: float, need: int) -> EarliestDay:
        """Return a day of use, with the last move that does it."""
        good = np.flatnonzero(self.chance[:, number] >= level - HAIR)
        row = int(good[-1]) if good.size else int(np.argmax(self.chance[:, number]))
        chance = float(self.chance[row, number])
        if self.last is None:
            route = Route(self.way.places, self.way.moves, chance)
        else:
            moves = (*self.way.moves, int(self.moved[row]))
            route = Route((*self.way.places, self.last), moves, chance)
        return EarliestDay(need + 1 + number, route)


def earliest(
    asked: Question, few: IntArray, best: Route | None = None
) -> tuple[EarliestDay | None, EarliestDay | None]:
    """Find the first day after the need date on which the wood can be ready.

    Parameters
    ----------
    asked : Question
        What is asked, of every run.
    few : ndarray of int
        Runs to look with; all confirm what is found.
    best : Route, optional
        The best route to the need date: its way to the last place is tried too.

    Returns
    -------
    sure, even : EarliestDay or None
        The first day that is 90 % sure by any move, and the first that has an even
        chance; None where there is none within three years.
    """
    bare_last = sorted(asked.states, key=lambda k: asked.air.places[k].about.rained_on)
    ways = [_Way((k,), ()) for k in bare_last]
    if best is not None and len(best.moves) > 1:
        ways.append(_Way(best.places[:-1], best.moves[:-1]))
    chance = 0.0 if best is None else best.chance
    scouts, need = asked.some(few), asked.need
    even: EarliestDay | None = None
    for look in LOOKS:
        stride = STRIDE if look < LOOKS[-1] else 2 * STRIDE
        begin = max(need - BEFORE, asked.first_move)
        dates = np.arange(begin, need + look, stride)
        found = in_threads(partial(_trials, scouts, dates, need + look), ways)
        trials = [one for some in found for one in some]
        if even is None and chance < EVENS:
            even = _confirmed(asked, trials, EVENS, dates, need + look)
        sure = _confirmed(asked, trials, SURE, dates, need + look)
        if sure is not None:
            return sure, even
    return None, even


def _soonest(trials: Sequence[_Trial], level: float) -> tuple[int, int] | None:
    """Find the first day of use with a chance, by number, and the trial that has it.

    Of trials that come within a week of the first, the plainest: they stand in order.
    """
    firsts = [(t.first(level), k) for k, t in enumerate(trials)]
    good = [(day, k) for day, k in firsts if day is not None]
    if not good:
        return None
    soon = min(good)[0] + AS_SOON
    return min((pair for pair in good if pair[0] <= soon), key=lambda pair: pair[1])


def _confirmed(
    asked: Question,
    trials: Sequence[_Trial],
    level: float,
    coarse: IntArray,
    end: int,
) -> EarliestDay | None:
    """Try all runs around the first day that a few runs found, or up to the end."""
    found = _soonest(trials, level)
    if found is None:
        return None
    number, rough = found[0], trials[found[1]]
    first = rough.on(number, level, asked.need)
    until = first.day + MARGIN
    dates = np.zeros(0, np.int64)
    if rough.last is not None:
        move = first.route.moves[-1]
        begin = max(asked.first_move, (0, *rough.way.moves)[-1] + 1)
        dates = np.arange(max(move - STRIDE, begin), move + STRIDE, FINE)
        dates = dates[dates < until]
    fine = _trials(asked, dates, until, rough.way, rough.last)
    exact = _soonest(fine, level)
    if exact is None:
        fine = _trials(asked, coarse, end, rough.way, rough.last)
        exact = _soonest(fine, level)
    return None if exact is None else fine[exact[1]].on(exact[0], level, asked.need)


def _trials(
    asked: Question, dates: IntArray, until: int, way: _Way, last: int | None = None
) -> list[_Trial]:
    """Stay at the end of a way, and move from there into every further place.

    Only into one, where `last` names it; with no dates of moving only staying is tried.
    """
    state, day = asked.arrive(way.places, way.moves)
    here = stay(asked, way.places[-1], state, day, until, STRIDE)
    good = _ready(asked, here.path, day, np.full(asked.runs, day))
    nothing = np.zeros(0, np.int64)
    trials = [_Trial(way, None, nothing, good.mean(axis=1)[None, :])]
    dates = dates[dates >= max(day, asked.first_move)]
    if not dates.size:
        return trials
    wet = here.wetness(dates)
    moved: list[tuple[int, int]] = []
    for k in asked.onward(way.places) if last is None else (last,):
        moved += [(int(d), k) for d in dates[may_enter(asked.air.places[k], wet)]]
    chance, moves = _chances(asked, here, sorted(moved), until)
    for k in sorted({k for _, k in moved}):
        mine = moves[:, 1] == k
        trials.append(_Trial(way, k, moves[mine, 0], chance[mine]))
    return trials


def _chances(
    asked: Question, here: Stay, moved: Sequence[tuple[int, int]], until: int
) -> tuple[FloatArray, IntArray]:
    """Chances of moves (day, place), by move and day of use."""
    n, moves = asked.runs, np.array(moved, dtype=np.int64).reshape(-1, 2)
    chance = np.zeros((len(moves), until - asked.need))
    for some in arrivals(
        asked,
        here,
        np.repeat(moves[:, 0], n),
        np.tile(np.arange(n), len(moves)),
        np.repeat(moves[:, 1], n),
        until,
    ):
        good = _ready(asked, some.path, some.day, some.moved)
        np.add.at(chance, some.number // n, good.T / n)
    return chance, moves


def _ready(asked: Question, path: Moisture, day: int, moved: IntArray) -> BoolArray:
    """Whether each board is ready, by day from the one after the need date."""
    rows = np.arange(path.mean.shape[0])[:, None]
    ready = is_ready(path.mean, path.shell, path.core, asked.target)
    ready &= rows >= moved - day
    ahead = day - (asked.need + 1)
    if ahead <= 0:
        return ready[-ahead:]
    return np.concatenate([np.zeros((ahead, ready.shape[1]), dtype=bool), ready])
