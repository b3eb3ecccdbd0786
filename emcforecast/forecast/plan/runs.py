"""One stack through every weather year at once, able to branch on any day."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.air import AirBank
from emcforecast.ensemble.boards import (
    DAY,
    Lot,
    Run,
    lot_of,
    run_lot,
    start_content,
    start_state,
)
from emcforecast.ensemble.calendar import Day
from emcforecast.ensemble.draws import Members, draw
from emcforecast.ensemble.weather_ahead import faded
from emcforecast.wood.board import Board


@dataclass(frozen=True)
class Ahead:
    """A weather forecast, faded into the weather of every year.

    Parameters
    ----------
    days : int
        How far it goes.
    tables : ndarray, shape (tables, 24 days, 8)
        Air.
    table_of : ndarray of int, shape (settings, runs)
        Which of them each run has in each setting.
    """

    days: int
    tables: FloatArray
    table_of: IntArray


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
    actual : int
        Days from the start whose weather is known and the same in every run.
    known : int
        Row of the air at which that weather begins.
    first_move : int
        Days from the start before which nothing is moved any more.
    ahead : Ahead or None
        The weather forecast of the days that follow the actual ones.
    avoided : tuple of int
        Places that no route goes through: they would dry the wood too far.
    """

    bank: AirBank
    board: Board
    members: Members
    lot: Lot
    rows: IntArray
    actual: int = 0
    known: int = 0
    first_move: int = 1
    ahead: Ahead | None = None
    avoided: tuple[int, ...] = ()

    @property
    def runs(self) -> int:
        """How many."""
        return self.rows.size

    def start(self, from_mc: float | None) -> FloatArray:
        """State at the start: green, or at a stated moisture content (%)."""
        content = start_content(self.board, self.members, from_mc)
        return start_state(self.lot, content)

    def start_moisture(self, from_mc: float | None) -> FloatArray:
        """Moisture at the start, % of oven-dry mass, shape (runs,)."""
        return 100.0 * start_content(self.board, self.members, from_mc)

    def some(self, index: IntArray) -> "Cast":
        """Return a few of the runs, by their numbers."""
        return replace(
            self,
            members=self.members.take(index),
            lot=self.lot.take(index),
            rows=self.rows[index],
            ahead=self.ahead
            and replace(self.ahead, table_of=self.ahead.table_of[:, index]),
        )

    def branch(
        self,
        state: FloatArray,
        day: int,
        run: IntArray,
        settings: IntArray,
        moves: IntArray,
        until: int,
    ) -> Run:
        """Run boards on from one day, each by its own route.

        Parameters
        ----------
        state : ndarray, shape (n, boards)
            As `advance` returns it.
        day : int
            Days since the start at which they are.
        run : ndarray of int, shape (boards,)
            Which run each board is of.
        settings, moves : ndarray of int, shape (legs, boards)
            Where each leg lies, and the day since the start on which it begins; the
            first row of `moves` is `day` or before, a leg beyond `until` never begins.
        until : int
            Days since the start at which to stop.

        Returns
        -------
        Run
            Daily from `day` to `until`.
        """
        coming = self.actual + (self.ahead.days if self.ahead else 0)
        end = next((e for e in (self.actual, coming) if day < e < until), until)
        first = self._span(state, day, run, settings, np.maximum(moves, day), end)
        if end == until:
            return first
        then = self.branch(first.state, end, run, settings, moves, until)
        return Run(
            np.concatenate([first.mean[:-1], then.mean]),
            np.concatenate([first.shell[:-1], then.shell]),
            np.concatenate([first.core[:-1], then.core]),
            then.state,
        )

    def _span(
        self,
        state: FloatArray,
        day: int,
        run: IntArray,
        settings: IntArray,
        moves: IntArray,
        until: int,
    ) -> Run:
        """Run on in one stretch of weather: actual, forecast, or of past years."""
        tables, table_of = None, None
        if day < self.actual:
            rows = np.full(run.size, self.known + DAY * day) % self.bank.ring.hours
        elif self.ahead and day < self.actual + self.ahead.days:
            rows = np.full(run.size, DAY * (day - self.actual))
            tables, table_of = self.ahead.tables, self.ahead.table_of[settings, run]
        else:
            rows = (self.rows[run] + DAY * day) % self.bank.ring.hours
        return run_lot(
            self.bank,
            self.lot.take(run),
            state,
            start_row=rows,
            setting=settings,
            days=until - day,
            leg_day=moves - day,
            tables=tables,
            table_of=table_of,
        )

    def come(
        self,
        settings: Sequence[int],
        moves: Sequence[int],
        from_mc: float | None,
    ) -> tuple[FloatArray, int]:
        """State and day on which the runs come into the last of several places.

        Parameters
        ----------
        settings : sequence of int
            Places in order.
        moves : sequence of int
            Days since the start of the moves between them, one fewer.
        from_mc : float, optional
            Moisture at the start, % MC; green when left out.
        """
        state, day = self.start(from_mc), 0
        for setting, move in zip(settings[:-1], moves, strict=True):
            state = self.along(state, day, setting, move).state
            day = move
        return state, day

    def along(self, state: FloatArray, day: int, setting: int, until: int) -> Run:
        """Run every run on in one setting, daily; state of shape (n, runs)."""
        where = np.full((1, self.runs), setting, dtype=np.int64)
        since = np.full((1, self.runs), day, dtype=np.int64)
        return self.branch(state, day, np.arange(self.runs), where, since, until)


def cast(
    bank: AirBank,
    board: Board,
    day: np.datetime64,
    members: int,
    seed: int = 0,
    actual: int = 0,
    today: int = 0,
) -> Cast:
    """Start every weather year at a calendar date with every member.

    Parameters
    ----------
    bank : AirBank
        The air of each setting.
    board : Board
        Species and thickness.
    day : datetime64[D]
        When the stack begins; its year matters only to the actual weather.
    members : int
        Draws of what nobody knows about the stack, for each year; every run has its
        own, so that they are spread over the whole of their range.
    seed : int
        The same seed gives the same draws.
    actual : int
        Days of actual weather from the start on; the record must hold them.
    today : int
        Days from the start to today: what was not moved by then is not moved before.

    Returns
    -------
    Cast
    """
    rows, _ = bank.ring.starts(day + actual)
    each = draw(members * rows.size, bank.airs, seed)
    lot = lot_of(board, each)
    after = np.repeat(rows, members)
    return Cast(
        bank,
        board,
        each,
        lot,
        after - DAY * actual,
        actual,
        (bank.ring.row_of(day) or 0) if actual else 0,
        max(actual, today, 1),
        _ahead(bank, lot, after, day + actual),
    )


def _ahead(bank: AirBank, lot: Lot, rows: IntArray, day: Day) -> Ahead | None:
    """Fade the weather forecast into every year, where it holds a day."""
    end = bank.ring.end.astype("datetime64[D]")
    skip = int((day - end).astype(np.int64))
    if bank.ahead is None or not bank.calendar or not 0 <= skip < bank.ahead_days:
        return None
    days = bank.ahead_days - skip
    settings = np.arange(len(bank.settings))
    return Ahead(days, *faded(bank, settings, lot.air, rows, days, skip))
