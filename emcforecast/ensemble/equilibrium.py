"""Dry boards beside the stack: what moisture it is on its way to."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.ensemble.air import AirBank
from emcforecast.ensemble.boards import DAY, lot_of, run_lot, start_state
from emcforecast.ensemble.percentiles import quantiles
from emcforecast.ensemble.trajectories import Traces
from emcforecast.wood.board import Board

AT_REST = 1.0
"""% MC between a stack and dry boards beside it at which waiting gains nothing that a
meter could tell (common practice: meters are good to about 1 % MC)."""
YEAR = 365
THIN_MM, SETTLING_YEARS = 40.0, (1, 3)
"""Dry boards lie in the setting for so many years before the stack comes."""


@dataclass(frozen=True)
class Rest:
    """How dry boards lie in the stack's last setting; % of oven-dry mass.

    Parameters
    ----------
    path : ndarray, shape (days + 1, traces)
        Their mean moisture, day by day beside every trace of the stack.
    lowest : tuple of float
        Their least of a year: p10, p50, p90 over years and levers.
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


def at_rest(bank: AirBank, board: Board, traces: Traces) -> Rest:
    """Let dry boards lie in the last setting while the stack dries.

    Parameters
    ----------
    bank : AirBank
        The air.
    board : Board
        The stack's wood and its thickness at the end.
    traces : Traces
        Of the stack, at least a year long.

    Returns
    -------
    Rest
        Every trace's own weather and levers.
    """
    setting = traces.end.stack.route[-1].setting
    lot = lot_of(board, traces.members.take(traces.member))
    before = settling_days(board)
    placed = traces.end.placed
    day, row = placed[0]
    stays = [(day - before, row - DAY * before), *placed[1:], (traces.days, row)]
    state = start_state(lot, bank.mean_rest(setting))
    parts: list[FloatArray] = []
    for (first, at), (end, _) in pairwise(stays):
        run = run_lot(
            bank,
            lot,
            state,
            start_row=at % bank.ring.hours,
            setting=setting,
            days=end - first,
        )
        parts.append(run.mean[1:] if parts else run.mean)
        state = run.state
    return _summed_up(np.concatenate(parts)[before:], traces)


def settling_days(board: Board) -> int:
    """Days that dry boards need to forget where they started."""
    thin, thick = SETTLING_YEARS
    return YEAR * (thin if board.thickness_mm <= THIN_MM else thick)


def _summed_up(path: FloatArray, traces: Traces) -> Rest:
    year = path[:YEAR]
    least, most = year.min(axis=0), year.max(axis=0)
    middle = np.median(path[:YEAR], axis=1)
    month = traces.dates[int(np.argmin(middle))].astype("datetime64[M]")
    return Rest(
        path,
        quantiles(least, traces.weight),
        int(month.astype(np.int64)) % 12 + 1,
        quantiles(least, traces.weight, [0.5])[0],
        quantiles(most, traces.weight, [0.5])[0],
    )


def settled(traces: Traces, rest: Rest) -> FloatArray:
    """Days until each trace is at rest in its last setting, infinite if never.

    Parameters
    ----------
    traces : Traces
        Of the stack.
    rest : Rest
        Of the dry boards beside it.

    Returns
    -------
    ndarray, shape (traces,)
    """
    moved = traces.end.stack.route[-1].start
    near = np.abs(traces.mean - rest.path) <= AT_REST
    near[: max(int((moved - traces.begun).astype(np.int64)), 0)] = False
    day = np.argmax(near, axis=0).astype(np.float64)
    result: FloatArray = np.where(near.any(axis=0), day, np.inf)
    return result


def daily_emc(bank: AirBank, traces: Traces) -> FloatArray:
    """EMC of the air at the stack by day, the middle of the years, %.

    Parameters
    ----------
    bank : AirBank
        The air.
    traces : Traces
        Of the stack.

    Returns
    -------
    ndarray, shape (days + 1,)
        Of the settings as drawn, in the order of the route.
    """
    walk = traces.end
    count = traces.days + 1
    airs = bank.tables.reshape(len(bank.settings), bank.airs, bank.ring.hours, 8)
    whole = bank.ring.hours // DAY
    hourly = airs[:, 0, : whole * DAY, 4]
    daily = 100.0 * hourly.reshape(len(bank.settings), whole, DAY).mean(axis=2)
    setting = np.zeros(count, dtype=np.int64)
    for leg in walk.stack.route:
        setting[max(int((leg.start - traces.begun).astype(np.int64)), 0) :] = (
            leg.setting
        )
    _, one_each = np.unique(traces.year, return_index=True)
    day = np.empty((count, one_each.size), dtype=np.int64)
    for first, row in walk.placed:
        ahead = np.arange(max(count - first, 0))
        day[first:] = row[one_each] // DAY + ahead[:, None]
    result: FloatArray = np.median(daily[setting[:, None], day % whole], axis=1)
    return result
