"""Dry boards beside the stack: the equilibrium that it approaches."""

from dataclasses import dataclass, replace

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.ensemble.boards import boards_of, start_state
from emcforecast.ensemble.calendar import DAY_HOURS, days_between
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import Trajectories
from emcforecast.wood.board import Board

SETTLED = 1.0
"""% MC between a stack and dry boards beside it at which waiting gains nothing that a
meter could tell (common practice: meters are good to about 1 % MC)."""
YEAR = 365
THIN_MM, SETTLING_YEARS = 40.0, (1, 3)
"""Dry boards are in the place for so many years before the stack comes."""


@dataclass(frozen=True)
class Equilibrium:
    """Moisture of dry boards in the stack's last place; % of oven-dry mass.

    Parameters
    ----------
    path : ndarray, shape (days + 1, runs)
        Their mean moisture, day by day beside every run of the stack.
    lowest : tuple of float
        Their least of a year: p10, p50, p90 over years and draws.
    month : int
        The month in which that usually falls.
    low, high : float
        Middle of the least and of the greatest of a year.
    """

    path: FloatArray
    lowest: tuple[float, ...]
    month: int
    low: float
    high: float


def equilibrium_beside(board: Board, stack: Trajectories) -> Equilibrium:
    """Let dry boards stay in the last place while the stack dries.

    Parameters
    ----------
    board : Board
        The stack's wood and its thickness at the end.
    stack : Trajectories
        The stack, at least a year long.

    Returns
    -------
    Equilibrium
        Every run's own weather and draws.
    """
    place = stack.stack.route[-1].place
    runs = replace(stack.ensemble, boards=boards_of(board, stack.ensemble.members))
    before = settling_days(board)
    state = start_state(runs.boards, runs.air.mean_emc(place))
    path = runs.stay(state, -before, stack.days, place).mean[before:]
    year = path[:YEAR]
    least, most = year.min(axis=0), year.max(axis=0)
    driest = stack.dates[int(np.argmin(np.median(year, axis=1)))]
    return Equilibrium(
        path,
        quantiles(least, stack.weight),
        int(driest.astype("datetime64[M]").astype(np.int64)) % 12 + 1,
        quantiles(least, stack.weight, [0.5])[0],
        quantiles(most, stack.weight, [0.5])[0],
    )


def settling_days(board: Board) -> int:
    """Days that dry boards need to forget where they started."""
    thin, thick = SETTLING_YEARS
    return YEAR * (thin if board.thickness_mm <= THIN_MM else thick)


def days_to_equilibrium(stack: Trajectories, beside: Equilibrium) -> FloatArray:
    """Days until each run is at equilibrium in its last place, infinite if never.

    Parameters
    ----------
    stack : Trajectories
        The stack.
    beside : Equilibrium
        The dry boards beside it.

    Returns
    -------
    ndarray, shape (runs,)
    """
    moved = days_between(stack.begun, stack.stack.route[-1].start)
    near = np.abs(stack.mean - beside.path) <= SETTLED
    near[: max(moved, 0)] = False
    day = np.argmax(near, axis=0).astype(np.float64)
    result: FloatArray = np.where(near.any(axis=0), day, np.inf)
    return result


def daily_emc(stack: Trajectories) -> FloatArray:
    """EMC of the air at the stack by day, the middle of the years, %.

    Parameters
    ----------
    stack : Trajectories
        The stack.

    Returns
    -------
    ndarray, shape (days + 1,)
        Of the places as stated, in the order of the route.
    """
    air, count = stack.ensemble.air, stack.days + 1
    whole = air.years.hours // DAY_HOURS
    daily = np.array(
        [
            100.0
            * air.stated_emc(place)[: whole * DAY_HOURS]
            .reshape(whole, DAY_HOURS)
            .mean(axis=1)
            for place in range(len(air.places))
        ]
    )
    place = stack.stack.place_by_day(count)
    _, one_each = np.unique(stack.year, return_index=True)
    weather = stack.ensemble.weather.take(one_each)
    row = np.array([weather.row_on(day, air.years.hours) for day in range(count)])
    result: FloatArray = np.median(
        daily[place[:, None], row // DAY_HOURS % whole], axis=1
    )
    return result
