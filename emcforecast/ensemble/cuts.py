"""What is left in a board after planing or resawing part-way."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.errors import InputError
from emcforecast.physics.diffusion import half_grid


@dataclass(frozen=True)
class Cut:
    """One planing or resawing.

    Parameters
    ----------
    day : datetime64[D]
        When.
    thickness_mm : float
        Of the boards that come of it.
    how : {"resaw", "plane"}
        Resawing parts a board along its middle into equal boards; planing takes the
        same off both faces.
    """

    day: np.datetime64
    thickness_mm: float
    how: Literal["resaw", "plane"] = "resaw"


def cut_profile(content: FloatArray, old_mm: float, cut: Cut) -> FloatArray:
    """Moisture content by cell of the wettest board that a cut leaves.

    Parameters
    ----------
    content : ndarray, shape (cells, boards)
        Before, from the centre to the surface.
    old_mm : float
        Thickness before, mm.
    cut : Cut
        What is done.

    Returns
    -------
    ndarray, shape (cells, boards)
        After, from the new centre to the new surface.

    Raises
    ------
    InputError
        When the new boards would not be thinner.

    Notes
    -----
    A board resawn from beside the middle has one old and one fresh face. Its
    profile is replaced by the mean of itself and its mirror image: the odd part
    that is lost has no bearing on the mean moisture while diffusion is linear. The
    saw's kerf is not counted.

    Examples
    --------
    >>> wet_inside = np.linspace(0.4, 0.1, 16)[:, None]
    >>> planed = cut_profile(wet_inside, 54.0, Cut(np.datetime64("2025-05-01"), 48.0,
    ...                                            "plane"))
    >>> bool(planed.mean() > wet_inside.mean())
    True
    """
    if not cut.thickness_mm < old_mm:
        raise InputError(
            f"{cut.how} to {cut.thickness_mm:g} mm: the boards are {old_mm:g} mm by "
            "then; give a smaller thickness"
        )
    width, edge = half_grid(content.shape[0])[0], half_grid(content.shape[0])[3]
    half, new = old_mm / 2.0, cut.thickness_mm
    pieces = 1 if cut.how == "plane" else max(int(old_mm / new + 1e-9), 1)
    outer = np.concatenate([[0.0], edge]) * half
    amount = np.vstack(
        [np.zeros(content.shape[1]), np.cumsum(content * width[:, None] * half, axis=0)]
    )

    def held(x: FloatArray) -> FloatArray:
        """Content between the old centre and each x, odd about the centre."""
        size = np.array([np.interp(np.abs(x), outer, column) for column in amount.T])
        return np.asarray((np.sign(x) * size).T)

    middle = new / 2.0 if pieces % 2 == 0 else 0.0
    edges = np.concatenate([[0.0], edge]) * new / 2.0
    right = np.diff(held(middle + edges), axis=0)
    left = -np.diff(held(middle - edges), axis=0)
    result: FloatArray = 0.5 * (right + left) / (width[:, None] * new / 2.0)
    return result
