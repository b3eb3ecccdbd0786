"""One stack through every weather year at once, able to branch on any day."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from emcforecast.forecast.airs import AirBank
from emcforecast.forecast.lots import (
    DAY,
    Lot,
    lot_of,
    profile,
    run_lot,
    start_content,
    start_state,
)
from emcforecast.forecast.members import Members, draw
from emcforecast.wood.board import Board

Array = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True)
class Cast:
    """The runs of a forecast: every weather year with every member.

    Parameters
    ----------
    bank : AirBank
        The air of each setting.
    board : Board
        Species and thickness.
    members : Members
        One row a run.
    lot : Lot
        The boards, one a run.
    rows : ndarray of int, shape (runs,)
        Row of the air at which each run begins.
    """

    bank: AirBank
    board: Board
    members: Members
    lot: Lot
    rows: Index

    @property
    def runs(self) -> int:
        """How many."""
        return self.rows.size

    def start(self, from_mc: float | None) -> Array:
        """State at the start: green, or at a stated moisture content (%)."""
        content = start_content(self.board, self.members, from_mc)
        return start_state(self.lot, content)

    def go(
        self, setting: int, state: Array, day: NDArray[np.int64] | int, days: int
    ) -> tuple[Array, Array, Array, Array]:
        """Run on for some days in one setting.

        Parameters
        ----------
        setting : int
            Which of the bank's settings.
        state : ndarray, shape (n, k × runs)
            k copies of the runs side by side, each as `advance` returns it.
        day : int or ndarray of int, shape (k,)
            Days since the start at which each copy is.
        days : int
            How long.

        Returns
        -------
        mean, shell, core : ndarray, shape (days + 1, k, runs)
            % of oven-dry mass.
        state : ndarray
            At the end.
        """
        offsets = np.atleast_1d(np.asarray(day, dtype=np.int64))
        copies = offsets.size
        rows = (self.rows[None, :] + DAY * offsets[:, None]).ravel()
        lot = self.lot.take(np.tile(np.arange(self.runs), copies))
        run = run_lot(
            self.bank,
            lot,
            state,
            start_row=rows % self.bank.ring.hours,
            setting=setting,
            days=days,
        )
        shape = (days + 1, copies, self.runs)
        return (
            run.mean.reshape(shape),
            run.shell.reshape(shape),
            run.core.reshape(shape),
            run.state,
        )

    def daily(
        self, setting: int, state: Array, day: int, days: int, stride: int = 1
    ) -> tuple[Array, Array]:
        """Run on in one setting and keep the state at every stride.

        Returns
        -------
        mean : ndarray, shape (days // stride + 1, runs)
            % of oven-dry mass.
        states : ndarray, shape (days // stride + 1, n, runs)
        """
        count = days // stride
        states = np.empty((count + 1, *state.shape))
        means = np.empty((count + 1, self.runs))
        states[0], means[0] = state, 100.0 * self._mean(state)
        for k in range(count):
            part, _, _, state = self.go(setting, state, day + k * stride, stride)
            means[k], means[k + 1], states[k + 1] = part[0, 0], part[-1, 0], state
        return means, states

    def _mean(self, state: Array) -> Array:
        content: Array = profile(self.lot, state).mean(axis=0)
        return content


def cast(
    bank: AirBank, board: Board, day: np.datetime64, members: int, seed: int = 0
) -> Cast:
    """Start every weather year at a calendar date with every member.

    Parameters
    ----------
    bank : AirBank
        The air of each setting.
    board : Board
        Species and thickness.
    day : datetime64[D]
        When the stack begins; its year does not matter.
    members : int
        Draws of what nobody knows about the stack, for each year.
    seed : int
        The same seed gives the same draws.

    Returns
    -------
    Cast
    """
    rows, _ = bank.ring.starts(day)
    drawn = draw(members, bank.airs, seed)
    each = drawn.take(np.tile(np.arange(members), rows.size))
    return Cast(bank, board, each, lot_of(board, each), np.repeat(rows, members))
