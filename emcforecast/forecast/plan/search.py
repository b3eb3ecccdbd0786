"""Every route through the places at hand, on a coarse grid of days of moving."""

from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.threads import together
from emcforecast.forecast.plan.arrivals import Fates
from emcforecast.forecast.plan.runs import Cast
from emcforecast.forecast.plan.success import (
    OUTDOORS,
    ROOM_LIMIT,
    first_day,
    is_fit,
    may_begin,
    may_enter,
)
from emcforecast.forecast.targets import Target
from emcforecast.wood.risks.checking import CHECKS_EASILY, safe_rate

MOST_MOVES = 2
LEAST_STRIDE, MOST_STEPS = 28, 26
"""Days between tried moves, at least, and how many of them over the whole time; pairs
of moves are tried half as often."""


@dataclass(frozen=True)
class Route:
    """Places by number, the days of the moves, and how well it does.

    Parameters
    ----------
    settings : tuple of int
        In order.
    moves : tuple of int
        Days since the stacking, one fewer than places.
    chance : float
        Share of the runs that are ready in time.
    excess : float
        Points too wet on the need date, middle of the runs, % MC.
    bare : bool
        Whether it lies uncovered at first.
    shut : bool
        Whether it begins green in a loft, which checks it.
    """

    settings: tuple[int, ...]
    moves: tuple[int, ...]
    chance: float = 0.0
    excess: float = 0.0
    bare: bool = False
    shut: bool = False

    @property
    def rank(self) -> tuple[float, float, bool, int, bool, int]:
        """Better is greater: surer, nearer, airy, fewer moves, sheltered, later."""
        return (
            self.chance,
            -round(self.excess, 1),
            not self.shut,
            -len(self.moves),
            not self.bare,
            self.moves[-1] if self.moves else 0,
        )

    def moved(self, *moves: int) -> "Route":
        """Return the same chain of places with moves on other days, unjudged."""
        return Route(self.settings, moves, bare=self.bare, shut=self.shut)

    def judged(self, chance: float, excess: float) -> "Route":
        """Return the same route with another verdict."""
        return replace(self, chance=float(chance), excess=float(excess))


@dataclass
class _Lying:
    """Runs that lie in the last place of a route so far."""

    settings: tuple[int, ...]
    moves: tuple[int, ...]
    state: FloatArray = field(repr=False)
    wet: FloatArray = field(repr=False)
    ready: FloatArray = field(repr=False)

    def moved(self, setting: int, day: int) -> "_Lying":
        """Carry them into another place."""
        never = np.full(self.wet.size, np.inf)
        route = (*self.settings, setting), (*self.moves, day)
        return _Lying(*route, self.state, self.wet, never)

    def some(self, few: IntArray) -> "_Lying":
        """Leave but a few of the runs."""
        part = self.state[:, few], self.wet[few], self.ready[few]
        return _Lying(self.settings, self.moves, *part)


def stride_of(days: int) -> int:
    """Days between tried moves for a time of so many days.

    Examples
    --------
    >>> stride_of(300), stride_of(1460)
    (28, 70)
    """
    fortnights = -(-days // (14 * MOST_STEPS))
    return int(max(LEAST_STRIDE, 14 * fortnights))


def search(
    runs: Cast, few: IntArray, from_mc: float | None, days: int, target: Target
) -> list[Route]:
    """Judge every route with moves on a coarse grid.

    Parameters
    ----------
    runs : Cast
        Every run.
    few : ndarray of int
        The numbers of those that are followed through the last place.
    from_mc : float, optional
        Moisture when stacked, % MC; green when left out.
    days : int
        From the stacking to the need date.
    target : Target
        What the wood must be fit for.

    Returns
    -------
    list of Route
        Empty where the wood may begin nowhere.

    Notes
    -----
    All routes are carried along together from one day of the grid to the next; on
    each, those that may go on are copied into their next place. What lies in a place
    from which it may be carried on is followed with every run, so that none is
    carried into a closed place too wet.
    """
    settings, stride = runs.bank.settings, stride_of(days)
    scouts = runs.some(few)
    state, wet = runs.start(from_mc), runs.start_moisture(from_mc)
    begins = may_begin(runs.bank, float(np.median(wet)), runs.avoided)
    front = [_Lying((k,), (), state, wet, np.full(runs.runs, np.inf)) for k in begins]
    ends: list[_Lying] = []
    grid = [0, *range(runs.first_move if runs.first_move > 1 else stride, days, stride)]
    for number, day in enumerate(grid):
        last: list[_Lying] = []
        for at in list(front) if day else ():
            for k in range(at.settings[-1] + 1, len(settings)):
                if k in runs.avoided or not may_enter(settings[k], np.median(at.wet)):
                    continue
                new, seldom = at.moved(k, day), number % 2 > 0
                if len(new.moves) == MOST_MOVES and seldom:
                    continue
                if k + 1 < len(settings) and len(new.moves) < MOST_MOVES and not seldom:
                    front.append(new)
                else:
                    last.append(new.some(few))
        ends += last
        onward = partial(_carry, runs, front, day, [*grid, days][number + 1], target)
        to_the_end = partial(_carry, scouts, last, day, days, target)
        together(lambda carry: carry(), (onward, to_the_end) if last else (onward,))
    green = float(np.median(runs.start_moisture(from_mc))) > ROOM_LIMIT
    return [_route(runs, at, target, green) for at in ends + front]


def _carry(
    runs: Cast, lying: list[_Lying], day: int, until: int, target: Target
) -> None:
    """Let several copies of the runs lie on where they are, all at once."""
    if not lying:
        return
    n = runs.runs
    where = np.repeat([at.settings[-1] for at in lying], n)
    went = runs.branch(
        np.concatenate([at.state for at in lying], axis=1),
        day,
        np.tile(np.arange(n), len(lying)),
        where[None, :],
        np.full((1, where.size), day),
        until,
    )
    fit = day + first_day(is_fit(went.mean, went.shell, went.core, target))
    for k, at in enumerate(lying):
        mine = slice(k * n, (k + 1) * n)
        at.state, at.wet = went.state[:, mine], went.mean[-1, mine]
        at.ready = np.minimum(at.ready, fit[mine])


def _checks_easily(runs: Cast) -> bool:
    rate = safe_rate(runs.board.wood, "4/4").rate
    return rate is not None and rate <= CHECKS_EASILY


def _route(runs: Cast, at: _Lying, target: Target, green: bool) -> Route:
    chance, excess = Fates(at.wet, at.ready).by_copy(at.wet.size, target)
    first = runs.bank.settings[at.settings[0]].kind
    shut = green and first not in OUTDOORS and _checks_easily(runs)
    return Route(
        at.settings,
        at.moves,
        float(chance[0]),
        float(excess[0]),
        bare=first == "stack",
        shut=shut,
    )
