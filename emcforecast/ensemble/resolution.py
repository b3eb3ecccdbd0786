"""How finely a board is cut into cells and an hour into steps, by board and air."""

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from emcforecast._types import FloatArray
from emcforecast.physics.diffusion import CELLS, FINE_CELLS, GRADING, SHELL_MM

ENOUGH_CELLS = 5
"""Cells that the shell is given where that leaves the others wide enough."""
LEAST_GRADING = 0.025
"""Below this the core's cells grow too wide."""
ALMOST = 1.0 - 1e-6
"""Equal cells, as good as."""
USUAL_GRADING = 0.1
"""Width of the surface cell over that of the centre, where nothing else asks."""
THICKEST_PLAIN = 45.0
"""mm, up to which plain cells keep the mean within 0.015 % MC rms in any air; above,
fine cells do, and plain ones are 0.02 out at 80 mm."""
QUICK = 0.12
"""Surface transfer over thickness, mm/s a mm, up to which one step an hour will do."""
QUICK_FINE = 0.0372
"""The same for fine cells, whose thin surface cell follows every hour of air."""
MOST_STEPS = 4


def cell_count(thickness: FloatArray) -> int:
    """Cells in half a board for boards of some thicknesses (m)."""
    return FINE_CELLS if thickness.max() * 1000.0 > THICKEST_PLAIN else CELLS


def cell_grading(cells: int, thickness_mm: float) -> float:
    """Width of the surface cell over the centre's, of plain cells and of fine ones."""
    return GRADING if cells < FINE_CELLS else shell_grading(cells, thickness_mm)


@lru_cache(maxsize=64)
def shell_grading(cells: int, thickness_mm: float) -> float:
    """Width of the surface cell over the centre's, with a cell edge below the shell.

    Parameters
    ----------
    cells : int
        Cells in half the thickness.
    thickness_mm : float
        Thickness of the board, mm.

    Returns
    -------
    float
        For `emcforecast.physics.diffusion.half_grid`: the one nearest to 0.1 that
        lets a cell end exactly 2 mm (of thin boards a sixth) below the face, with five
        cells or more outside, fewer in timbers.

    Notes
    -----
    Widths w_i = r^i leave the share (r^(N-n) - r^N)/(1 - r^N) to the outer n cells:
    solved for r for each n. A shell that ends within a cell reads up to half a per
    cent of moisture wrong while the wood is green, however fine the cells: the wood is
    steepest there.

    Examples
    --------
    >>> round(shell_grading(24, 27.0), 3), round(shell_grading(24, 54.0), 3)
    (0.104, 0.084)
    """
    share = min(2.0 * SHELL_MM / thickness_mm, 1.0 / 3.0)
    gradings = {n: _grading_for(cells, n, share) for n in range(1, cells)}
    for least in range(ENOUGH_CELLS, 0, -1):
        found = [
            grading
            for outer, grading in gradings.items()
            if outer >= least and LEAST_GRADING <= grading < ALMOST
        ]
        if found:
            return min(found, key=lambda grading: abs(np.log(grading / USUAL_GRADING)))
    return LEAST_GRADING


def _grading_for(cells: int, outer: int, share: float) -> float:
    """Return the grading that gives the outer cells a share; equal cells where none."""
    low, high = 1e-6, ALMOST
    for _ in range(60):
        grading = np.sqrt(low * high)
        ratio = grading ** (1.0 / (cells - 1))
        held = (ratio ** (cells - outer) - ratio**cells) / (1.0 - ratio**cells)
        low, high = (low, grading) if held > share else (grading, high)
    return float(high)


def steps_an_hour(
    thickness_mm: ArrayLike, surface_transfer: ArrayLike, *, cells: int
) -> NDArray[np.int64]:
    """Return into how many steps an hour is cut for each board.

    Parameters
    ----------
    thickness_mm : array_like
        mm.
    surface_transfer : array_like
        Vapour transfer coefficient, m/s.
    cells : int
        Cells in half a board.

    Returns
    -------
    ndarray of int64
        1 for nearly all; up to 4 for thin boards under fans. Elementwise.

    Notes
    -----
    The air jumps from hour to hour. A thin board in fast air follows within the
    hour, and one step of the second order is up to 0.2 % MC wrong in that hour; the
    error falls with the square of the steps.

    Examples
    --------
    >>> steps_an_hour([27.0, 13.0], [1e-3, 3e-3], cells=24).tolist()
    [1, 3]
    """
    quick = 1000.0 * np.asarray(surface_transfer) / np.asarray(thickness_mm)
    enough = np.sqrt(
        np.nan_to_num(quick) / (QUICK if cells < FINE_CELLS else QUICK_FINE)
    )
    steps: NDArray[np.int64] = np.clip(np.ceil(enough - 1e-9), 1, MOST_STEPS).astype(
        np.int64
    )
    return steps
