"""Many boards through the air of a bank: the one run that all forecasts make."""

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.draws import (
    GREEN_SPREAD,
    STATED_SPREAD,
    Members,
    as_standard,
    as_wood,
)
from emcforecast.physics.boards import advance, fresh_state
from emcforecast.physics.diffusion import CELLS

if TYPE_CHECKING:
    from emcforecast.ensemble.air import AirBank
    from emcforecast.wood.board import Board


DAY = 24


@dataclass(frozen=True)
class Lot:
    """Boards that run together; every array has shape (boards,).

    Parameters
    ----------
    thickness : ndarray
        m.
    diffusivity : ndarray
        At 12 % and 20 °C, m²/s.
    density : ndarray
        Oven-dry mass over green volume, kg/m³.
    sorption : ndarray
        Content at rest over the standard isotherm's.
    air : ndarray of int
        Draw of the storage levers.
    """

    thickness: FloatArray
    diffusivity: FloatArray
    density: FloatArray
    sorption: FloatArray
    air: IntArray

    @property
    def count(self) -> int:
        """How many boards."""
        return self.air.size

    def take(self, index: IntArray) -> "Lot":
        """Return the boards of these numbers; a number may come again."""
        return Lot(
            self.thickness[index],
            self.diffusivity[index],
            self.density[index],
            self.sorption[index],
            self.air[index],
        )

    def cut_to(self, thickness_mm: float) -> "Lot":
        """Return the same boards at another thickness, mm."""
        return replace(self, thickness=np.full(self.count, thickness_mm / 1000.0))


@dataclass(frozen=True)
class Run:
    """Moisture by day, % of oven-dry mass.

    Parameters
    ----------
    mean, shell, core : ndarray, shape (records, boards)
        At the start and after every `every` days.
    state : ndarray
        What `run_lot` needs to go on.
    """

    mean: FloatArray
    shell: FloatArray
    core: FloatArray
    state: FloatArray


def lot_of(board: "Board", members: Members) -> Lot:
    """Boards of one kind, one a member."""
    n = members.count
    spread = math.log(board.factor.spread)
    return Lot(
        np.full(n, board.thickness_mm / 1000.0),
        board.diffusivity * np.exp(spread * members.factor),
        np.full(n, board.basic_density),
        members.sorption,
        members.air,
    )


def start_content(
    board: "Board",
    members: Members,
    start_mc: float | None = None,
    spread: float = STATED_SPREAD,
) -> FloatArray:
    """Moisture content at the start of every member, kg/kg, as the wood has it.

    Parameters
    ----------
    board : Board
        The wood and its green moisture.
    members : Members
        Their scores of the start.
    start_mc : float, optional
        Stated, % of oven-dry mass; green when left out.
    spread : float
        Standard deviation of a stated content, % MC.

    Returns
    -------
    ndarray, shape (members,)
    """
    middle = board.start_content(start_mc)
    if start_mc is None:
        drawn = middle * (1.0 + GREEN_SPREAD * members.start)
        most = board.wood.most_moisture / 100.0
        return np.minimum(drawn, max(most, middle))
    return np.maximum(middle + spread / 100.0 * members.start, 0.0)


def start_state(lot: Lot, content: ArrayLike) -> FloatArray:
    """State of boards that begin at a content.

    Parameters
    ----------
    lot : Lot
        The boards.
    content : array_like
        kg/kg as the wood has it: a number, one a board, or (cells, boards) from the
        centre to the surface.
    """
    standard = as_standard(content, lot.sorption)
    cells = standard.shape[0] if standard.ndim == 2 else CELLS
    return fresh_state(standard, lot.count, cells)


def profile(lot: Lot, state: FloatArray) -> FloatArray:
    """Moisture content by cell from the centre, kg/kg as the wood has it."""
    cells = (state.shape[0] - 3) // 2
    return as_wood(state[:cells], lot.sorption)


def run_lot(
    bank: "AirBank",
    lot: Lot,
    state: FloatArray,
    *,
    start_row: ArrayLike,
    setting: ArrayLike,
    days: int,
    leg_day: ArrayLike | None = None,
    every: int = 1,
    tables: FloatArray | None = None,
    table_of: ArrayLike | None = None,
    threads: int | None = None,
) -> Run:
    """Run boards through the air of their settings, all at once.

    Parameters
    ----------
    bank : AirBank
        The air.
    lot : Lot
        The boards.
    state : ndarray
        From `start_state` or an earlier run; left unchanged.
    start_row : array_like of int
        Row of the air at which each board begins (`Ring.starts`, `Ring.row_of`).
    setting : array_like of int
        Number of the setting in the bank: one for all, or (legs, boards).
    days : int
        How long.
    leg_day : array_like of int, shape (legs, boards), optional
        Day on which each leg begins, counted from the start; the first row is 0.
        A leg that begins after `days` never happens.
    every : int
        Days between records.
    tables, table_of : ndarray, optional
        Other air than the bank's, and the table of each leg and board; the stack's
        own numbers still come from the bank.
    threads : int, optional
        As the bank says when left out.

    Returns
    -------
    Run
        % of oven-dry mass; the last day begins again at the first of the ring.

    Notes
    -----
    About 0.2 ms a board and year on two cores, in lots of 64 and more.
    """
    where = np.broadcast_to(
        np.asarray(setting, dtype=np.int64),
        np.shape(setting) if np.ndim(setting) == 2 else (lot.count,),
    )
    run = advance(
        bank.tables if tables is None else tables,
        steps=DAY * days,
        air_index=bank.index(where, lot.air) if table_of is None else table_of,
        start_hour=start_row,
        thickness_m=lot.thickness,
        diffusivity=lot.diffusivity,
        density=lot.density,
        surface_transfer=bank.transfer[where, lot.air],
        rain_film=bank.rain_film[where, lot.air],
        leg_step=None if leg_day is None else DAY * np.asarray(leg_day),
        state=state,
        every=DAY * every,
        wrap=True,
        threads=bank.threads if threads is None else threads,
    )
    mean, shell, core = (
        100.0 * as_wood(part, lot.sorption) for part in (run.mean, run.shell, run.core)
    )
    return Run(mean, shell, core, run.state)
