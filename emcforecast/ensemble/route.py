"""A stack and its route: which place from which day, and what is cut on the way."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.calendar import Day, days_between
from emcforecast.ensemble.resolution import cell_count, cell_grading
from emcforecast.errors import InputError
from emcforecast.language import _
from emcforecast.physics.diffusion import half_grid

if TYPE_CHECKING:
    from emcforecast.wood.board import Board


@dataclass(frozen=True)
class Leg:
    """A stay in one place.

    Parameters
    ----------
    place : int
        Its number in the storage air.
    start : datetime64[D]
        The day it begins; the first leg's is the stacking date.
    """

    place: int
    start: Day


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

    day: Day
    thickness_mm: float
    how: Literal["resaw", "plane"] = "resaw"


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

    def legs_from(self, day: int) -> tuple[IntArray, IntArray]:
        """Place of every leg, and the day it begins, not before a day of the route."""
        place = np.array([leg.place for leg in self.route], dtype=np.int64)
        start = [days_between(self.begun, leg.start) for leg in self.route]
        return place, np.maximum(np.array(start, dtype=np.int64), day)

    def place_by_day(self, days: int) -> IntArray:
        """Place on each day since the start, shape (days,)."""
        place = np.zeros(days, dtype=np.int64)
        for leg in self.route:
            place[max(days_between(self.begun, leg.start), 0) :] = leg.place
        return place


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
    ndarray, shape (cells after, boards)
        After, from the new centre to the new surface, in the cells of that thickness.

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
    >>> planed = cut_profile(wet_inside, 44.0, Cut(np.datetime64("2025-05-01"), 40.0,
    ...                                            "plane"))
    >>> bool(planed.mean() > wet_inside.mean())
    True
    """
    if not cut.thickness_mm < old_mm:
        raise InputError(
            _(
                "{how} to {thickness_mm:g} mm: the boards are {old_mm:g} mm "
                "by then; give a smaller thickness",
                how=cut.how,
                thickness_mm=cut.thickness_mm,
                old_mm=old_mm,
            )
        )
    half, new = old_mm / 2.0, cut.thickness_mm
    cells = content.shape[0]
    before = half_grid(cells, cell_grading(cells, old_mm))
    cells = cell_count(np.array([new / 1000.0]))
    after = half_grid(cells, cell_grading(cells, new))
    pieces = 1 if cut.how == "plane" else max(int(old_mm / new + 1e-9), 1)
    outer = np.concatenate([[0.0], before[3]]) * half
    amounts = np.cumsum(content * before[0][:, None] * half, axis=0)
    amount = np.vstack([np.zeros(content.shape[1]), amounts])

    def held(x: FloatArray) -> FloatArray:
        """Content between the old centre and each x, odd about the centre."""
        size = np.array([np.interp(np.abs(x), outer, column) for column in amount.T])
        return np.asarray((np.sign(x) * size).T)

    middle = new / 2.0 if pieces % 2 == 0 else 0.0
    edges = np.concatenate([[0.0], after[3]]) * new / 2.0
    right = np.diff(held(middle + edges), axis=0)
    left = -np.diff(held(middle - edges), axis=0)
    result: FloatArray = 0.5 * (right + left) / (after[0][:, None] * new / 2.0)
    return result
