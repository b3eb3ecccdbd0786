"""Boards of a stack: sizes, wood, and the moisture they begin with."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.draws import (
    GREEN_SPREAD,
    POWER_SPREAD,
    STATED_SPREAD,
    Members,
    as_standard,
    as_wood,
)
from emcforecast.ensemble.resolution import cell_count
from emcforecast.physics.boards import fresh_state
from emcforecast.physics.section import (
    LEAST_POWER,
    MOST_POWER,
    THICKNESS_POWER,
    section_gain,
)

if TYPE_CHECKING:
    from emcforecast.wood.board import Board

HOUR_SECONDS = 3600.0
DEFAULT_TRANSFER = 0.5e-3
"""m/s, for air that does not say what moves through the stack."""


@dataclass(frozen=True)
class Boards:
    """Boards that run together; every array has shape (boards,).

    Parameters
    ----------
    thickness, width, length : ndarray
        m.
    diffusivity : ndarray
        Of the wood at 12 % and 20 °C, m²/s.
    green_ratio : ndarray
        The coefficient of green wood over that at fibre saturation.
    power : ndarray
        Growth of the coefficient with the thickness, `thickness_gain`.
    density : ndarray
        Oven-dry mass over green volume, kg/m³.
    sorption : ndarray
        Equilibrium content over the standard isotherm's.
    section : ndarray
        What edges and ends add to the coefficient, `section_gain`.
    storage_draw : ndarray of int
        Draw of the storage parameters whose air each board meets.
    """

    thickness: FloatArray
    width: FloatArray
    length: FloatArray
    diffusivity: FloatArray
    green_ratio: FloatArray
    power: FloatArray
    density: FloatArray
    sorption: FloatArray
    section: FloatArray
    storage_draw: IntArray

    @property
    def count(self) -> int:
        """How many boards."""
        return self.thickness.size

    def take(self, index: IntArray) -> "Boards":
        """Return the boards of these numbers; a number may come again."""
        return Boards(*(getattr(self, field.name)[index] for field in fields(self)))

    def cut_to(self, thickness_mm: float) -> "Boards":
        """Return the same boards at another thickness, mm."""
        thickness = np.full(self.count, thickness_mm / 1000.0)
        section = _section(thickness, self.width, self.length)
        return replace(self, thickness=thickness, section=section)


def boards_of(board: "Board", members: Members) -> Boards:
    """Boards of one kind, one a member, each with its drawn drying factor."""
    spread = math.log(board.factor.spread)
    power = THICKNESS_POWER + POWER_SPREAD * members.power
    return replace(
        boards_as_stated([board], np.exp(spread * members.factor)),
        power=np.clip(power, LEAST_POWER, MOST_POWER),
        sorption=members.sorption,
        storage_draw=members.air,
    )


def boards_as_stated(boards: "Sequence[Board]", factor: ArrayLike = 1.0) -> Boards:
    """Boards with nothing drawn, their diffusion multiplied by a factor each."""
    many = np.broadcast_shapes((len(boards),), np.shape(factor))

    def each(values: list[float]) -> FloatArray:
        return np.broadcast_to(np.array(values, dtype=np.float64), many)

    thickness, width, length = (
        each([board.sizes_mm[k] / 1000.0 for board in boards]) for k in range(3)
    )
    # Coated ends let nothing out: as if the board had none.
    length = np.where(each([b.sealed_ends for b in boards]) > 0.0, np.inf, length)
    return Boards(
        thickness,
        width,
        length,
        each([b.diffusivity for b in boards]) * np.asarray(factor, dtype=np.float64),
        each([b.green_ratio for b in boards]),
        np.full(many, THICKNESS_POWER),
        each([b.basic_density for b in boards]),
        np.ones(many),
        _section(thickness, width, length),
        np.zeros(many, dtype=np.int64),
    )


def _section(
    thickness: FloatArray, width: FloatArray, length: FloatArray
) -> FloatArray:
    """Return what edges and ends add, worked out once a size."""
    sizes = np.column_stack([thickness, width, length])
    each, which = np.unique(sizes, axis=0, return_inverse=True)
    return section_gain(*each.T)[which.reshape(-1)]


def start_content(
    board: "Board",
    members: Members,
    start_mc: float | None = None,
    spread: float = STATED_SPREAD,
) -> FloatArray:
    """Moisture content at the start of every member, kg/kg.

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


def start_state(
    boards: Boards, content: ArrayLike, cells: int | None = None
) -> FloatArray:
    """State of boards that begin at a content.

    Parameters
    ----------
    boards : Boards
        The boards.
    content : array_like
        kg/kg: a number, one a board, or (cells, boards) from the centre to the surface.
    cells : int, optional
        Cells in half a board; as `emcforecast.ensemble.resolution` has them for the
        thickness when left out.
    """
    standard = as_standard(content, boards.sorption)
    if standard.ndim == 2:
        cells = standard.shape[0]
    return fresh_state(standard, boards.count, cells or cell_count(boards.thickness))


def profile(boards: Boards, state: FloatArray) -> FloatArray:
    """Moisture content by cell from the centre to the surface, kg/kg."""
    cells = (state.shape[0] - 3) // 2
    return as_wood(state[:cells], boards.sorption)
