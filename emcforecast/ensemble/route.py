"""A lot of boards on its way through a stack's route."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.boards import (
    DAY,
    Lot,
    lot_of,
    profile,
    run_lot,
    start_content,
    start_state,
)
from emcforecast.ensemble.cuts import Cut, cut_profile
from emcforecast.ensemble.draws import Members
from emcforecast.ensemble.weather_ahead import faded

if TYPE_CHECKING:
    from emcforecast.ensemble.air import AirBank
    from emcforecast.wood.board import Board

Day = np.datetime64
"""A date, datetime64[D]."""


@dataclass(frozen=True)
class Leg:
    """A stay in one place.

    Parameters
    ----------
    setting : int
        Its number in the bank.
    start : datetime64[D]
        The day it begins; the first leg's is the stacking date.
    """

    setting: int
    start: Day


@dataclass(frozen=True)
class Stack:
    """What is to be followed.

    Parameters
    ----------
    board : Board
        Wood and thickness.
    route : tuple of Leg
        At least one, by date.
    start_mc : float or None
        Moisture content at the start, % of oven-dry mass; None is green.
    start_spread : float
        Standard deviation of a stated content, % MC.
    cuts : tuple of Cut
        Planing and resawing on the way, by date.
    """

    board: "Board"
    route: tuple[Leg, ...]
    start_mc: float | None = None
    start_spread: float = 1.0
    cuts: tuple[Cut, ...] = ()

    @property
    def begun(self) -> Day:
        """The first day."""
        return self.route[0].start


@dataclass
class Walk:
    """A lot of boards on its way; changes as it goes.

    Parameters
    ----------
    bank, stack : AirBank, Stack
        The air, and what is followed.
    members : Members
        The draws, one a board before the split.
    lot, state : Lot, ndarray
        The boards and how they stand on `day`.
    day : int
        Days since the first.
    row : ndarray of int, shape (boards,)
        Row of the air on `day`.
    parts : list of ndarray, shape (days, 3, boards)
        Mean, shell and core so far.
    placed : list of (int, ndarray)
        The days on which the weather was chosen, and each board's row then.
    done : int
        Cuts made.
    ahead_at : int or None
        The day on which the bank's weather forecast begins, counted from the first;
        None where it is not used.
    """

    bank: "AirBank"
    stack: Stack
    members: Members
    lot: Lot
    state: FloatArray
    day: int
    row: IntArray
    parts: list[FloatArray]
    placed: list[tuple[int, IntArray]]
    done: int = 0
    ahead_at: int | None = None

    @classmethod
    def begin(cls, bank: "AirBank", stack: Stack, members: Members) -> "Walk":
        """Stand at the first day, one board a member."""
        lot = lot_of(stack.board, members)
        content = start_content(
            stack.board, members, stack.start_mc, stack.start_spread
        )
        state = start_state(lot, content)
        row = np.zeros(members.count, dtype=np.int64)
        return cls(bank, stack, members, lot, state, 0, row, [], [])

    def copy(self) -> "Walk":
        """Return a walk that may go on without changing this one."""
        return replace(self, parts=list(self.parts), placed=list(self.placed))

    def place(self, row: IntArray) -> None:
        """Say where in the weather each board is."""
        self.row = row
        self.placed.append((self.day, row))

    def split(self, member: IntArray) -> None:
        """Let every board stand for several, by the numbers of the present ones."""
        self.lot = self.lot.take(member)
        self.state = self.state[:, member]
        self.parts = [part[:, :, member] for part in self.parts]
        self.placed = [(day, row[member]) for day, row in self.placed]

    def go(self, day: int) -> None:
        """Run on to a day, cutting boards where that is due."""
        while self.day < day:
            due = self._next_cut()
            if due is not None and due <= self.day:
                self._cut(self.stack.cuts[self.done])
                self.done += 1
                continue
            stop = day if due is None else min(due, day)
            ahead = self.ahead_left()
            if ahead:
                self._look_ahead(min(ahead, stop - self.day))
            else:
                self._run(stop - self.day)

    def ahead_left(self) -> int:
        """Days of the weather forecast that are left from where the boards stand."""
        if self.ahead_at is None or self.day < self.ahead_at:
            return 0
        return max(self.ahead_at + self.bank.ahead_days - self.day, 0)

    def _look_ahead(self, days: int) -> None:
        """Run through the weather forecast, faded into each board's own year."""
        if self.ahead_at is None:
            return
        skip = self.day - self.ahead_at
        setting = self._route()[0]
        tables, of = faded(self.bank, setting, self.lot.air, self.row, days, skip)
        self._run(days, tables=tables, table_of=of)

    def _next_cut(self) -> int | None:
        """Return the day of the next cut, counted from the first day."""
        if self.done >= len(self.stack.cuts):
            return None
        due = self.stack.cuts[self.done].day - self.stack.begun
        return int(due.astype(np.int64))

    def _route(self) -> tuple[IntArray, IntArray]:
        """Return the setting and first day of every leg, counted from now."""
        legs = self.stack.route
        setting = np.array([leg.setting for leg in legs], dtype=np.int64)
        start = np.array([leg.start for leg in legs], dtype="datetime64[D]")
        days = (start - self.stack.begun).astype(np.int64) - self.day
        return setting, np.maximum(days, 0)

    def _run(
        self,
        days: int,
        *,
        tables: FloatArray | None = None,
        table_of: IntArray | None = None,
    ) -> None:
        if days <= 0:
            return
        setting, leg_day = self._route()
        shape = (setting.size, self.lot.count)
        run = run_lot(
            self.bank,
            self.lot,
            self.state,
            start_row=self.row if tables is None else np.zeros_like(self.row),
            setting=np.broadcast_to(setting[:, None], shape),
            leg_day=np.broadcast_to(leg_day[:, None], shape),
            days=days,
            tables=tables,
            table_of=table_of,
        )
        records = np.stack([run.mean, run.shell, run.core], axis=1)
        self.parts.append(records if not self.parts else records[1:])
        self.state = run.state
        self.row = (self.row + DAY * days) % self.bank.ring.hours
        self.day += days

    def _cut(self, cut: Cut) -> None:
        now = float(self.lot.thickness[0]) * 1000.0
        content = cut_profile(profile(self.lot, self.state), now, cut)
        self.lot = self.lot.cut_to(cut.thickness_mm)
        self.state = start_state(self.lot, content)
