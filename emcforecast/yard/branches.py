"""A stack carried to another place on each of several days, all at once."""

from dataclasses import dataclass

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.boards import DAY, run_lot
from emcforecast.ensemble.weather_ahead import faded
from emcforecast.forecast.plan.success import is_fit
from emcforecast.forecast.targets import Target
from emcforecast.yard.outlook import Outlook

RUNS = 32
"""Traces that stand for all when places and dates are tried: half a block."""


@dataclass(frozen=True)
class Branch:
    """The stack carried to another place on each of several days.

    Parameters
    ----------
    offsets : ndarray of int, shape (copies,)
        Days from the base on which it is carried.
    mean, shell, core : ndarray, shape (days + 1, copies, runs)
        % MC by day from the base.
    """

    offsets: IntArray
    mean: FloatArray
    shell: FloatArray
    core: FloatArray

    def ready(self, target: Target) -> FloatArray:
        """Days from the base until ready after the move, infinite where never."""
        good = is_fit(self.mean, self.shell, self.core, target)
        days = np.arange(good.shape[0])[:, None, None]
        good &= days >= self.offsets[None, :, None]
        first: FloatArray = np.argmax(good, axis=0).astype(np.float64)
        first[~good.any(axis=0)] = np.inf
        return first


def branch(outlook: Outlook, setting: str, offsets: IntArray, days: int) -> Branch:
    """Carry the stack to another place on each of several days.

    Parameters
    ----------
    outlook : Outlook
    setting : str
        Where to.
    offsets : ndarray of int, shape (copies,)
        Days from the base.
    days : int
        How long each is followed from the base.

    Returns
    -------
    Branch
    """
    walk = outlook.base.end
    keep = representatives(outlook.base.weight)
    copies = len(offsets)
    index = np.tile(keep, copies)
    here = outlook.number[outlook.stack.setting_on(outlook.day(outlook.base.days))]
    there = outlook.number[setting]
    count = index.size
    leg_day = np.zeros((2, count), dtype=np.int64)
    leg_day[1] = np.repeat(np.asarray(offsets, dtype=np.int64), keep.size)
    legs = np.array([here, there], dtype=np.int64)
    lot, state, row = walk.lot.take(index), walk.state[:, index], walk.row[index]
    known = min(walk.ahead_left(), days)
    parts = []
    if known and walk.ahead_at is not None:
        skip = walk.day - walk.ahead_at
        tables, of = faded(outlook.bank, legs, lot.air, row, known, skip)
        parts.append(
            run_lot(
                outlook.bank,
                lot,
                state,
                start_row=np.zeros_like(row),
                setting=np.repeat(legs[:, None], count, axis=1),
                leg_day=leg_day,
                days=known,
                tables=tables,
                table_of=of,
            )
        )
        state = parts[0].state
        row = (row + DAY * known) % outlook.bank.ring.hours
    if known < days:
        parts.append(
            run_lot(
                outlook.bank,
                lot,
                state,
                start_row=row,
                setting=np.repeat(legs[:, None], count, axis=1),
                leg_day=np.maximum(leg_day - known, 0),
                days=days - known,
            )
        )
    shape = (days + 1, copies, keep.size)

    def whole(name: str) -> FloatArray:
        first, *rest = (getattr(part, name) for part in parts)
        path: FloatArray = np.concatenate([first, *(part[1:] for part in rest)])
        return path.reshape(shape)

    return Branch(
        np.asarray(offsets, dtype=np.int64),
        whole("mean"),
        whole("shell"),
        whole("core"),
    )


def representatives(weight: FloatArray, count: int = RUNS) -> IntArray:
    """Pick traces that stand for all, in proportion to their weight."""
    order = np.random.default_rng(0).permutation(weight.size)
    if np.ptp(weight) < 1e-12 and weight.size <= count:
        return np.sort(order)
    share = np.cumsum(weight[order])
    at = (np.arange(count) + 0.5) / count * share[-1]
    picked: IntArray = order[np.searchsorted(share, at)]
    return picked
