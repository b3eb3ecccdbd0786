"""Acclimation: how long a board needs in new air to reach its equilibrium there."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.boards import boards_as_stated, start_state
from emcforecast.ensemble.resolution import cell_grading
from emcforecast.ensemble.run_boards import air_tables, run_boards
from emcforecast.ensemble.simulate import running_emc
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.diffusion import FINE_CELLS, half_grid
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr


PACES = (1.6, 1.0, 1.0 / 1.6)
"""Diffusion of quick, middling and slow wood over the board's own: below 20 % MC little
is validated in public, and times there are good to within ×/÷ 1.5 to 2."""
YEAR = 8760


@dataclass(frozen=True)
class Settling:
    """Days until a board stays within some % MC of its equilibrium.

    Attributes
    ----------
    within : float
        % MC, of the whole board and of its core.
    quick, middle, slow : float or None
        Days; None where the air given ends before.
    shell_minus_core : float or None
        Their difference on the middle day, % MC.
    """

    within: float
    quick: float | None
    middle: float | None
    slow: float | None
    shell_minus_core: float | None


@dataclass(frozen=True)
class Acclimation:
    """A board brought into new air; % of oven-dry mass, one value a day.

    Attributes
    ----------
    days : ndarray
        Since it was brought in.
    mean, shell, core : ndarray
        The board, at its middle pace.
    rest : ndarray
        A like board that has long been there.
    settled : tuple of Settling
        To within 1 and 0.5 % MC.
    """

    days: FloatArray
    mean: FloatArray
    shell: FloatArray
    core: FloatArray
    rest: FloatArray
    settled: tuple[Settling, ...]


def acclimate(
    air: "xr.Dataset",
    board: Board,
    start_mc: ArrayLike,
    brought_in: np.datetime64 | str | None = None,
    days: int = 365,
) -> Acclimation:
    """Bring a board into new air and find when it has acclimated.

    Parameters
    ----------
    air : Dataset
        Hourly air where it is going, at least a year for a fair picture; it begins
        again at its end.
    board : Board
        Species and thickness.
    start_mc : array_like
        % of oven-dry mass: one number, or a profile from the centre to the surface in
        cells of equal width.
    brought_in : datetime64 or str, optional
        When, UTC; the first hour of the air when left out.
    days : int
        How long to look.

    Returns
    -------
    Acclimation
        Day by day, and the days to rest with their range.

    Raises
    ------
    WeatherError
        When the date lies outside the air or the air is not hourly.

    Notes
    -----
    At rest does not mean flat: the board is compared with one that has lain there for
    a year or more and follows the seasons. It has settled on the first day from which
    on its mean and its core stay that near.

    Examples
    --------
    >>> from emcforecast.weather.series import make_series
    >>> time = np.arange("2001-01-01", "2002-01-01", dtype="datetime64[h]")
    >>> room = make_series(time, {"air_temperature": np.full(8760, 20.0),
    ...     "relative_humidity": np.full(8760, 40.0)},
    ...     step="hour", kind="typical year", source="a steady room")
    >>> found = acclimate(room, Board("cherry", "4/4"), 14.0)
    >>> one, half = found.settled
    >>> 10 < one.middle < half.middle < 365
    True
    """
    airs = air_tables([air])
    first = 0 if brought_in is None else _row_of(air, airs.hours, brought_in)
    resting = running_emc(air, board).to_numpy()
    # A like board, flat a year before: by the day it has its own shell and core.
    before = (first - YEAR) % airs.hours
    like = boards_as_stated([board])
    settled = run_boards(
        airs,
        like,
        start_state(like, resting[before] / 100.0, FINE_CELLS),
        air_index=0,
        start_row=before,
        hours=(first - before) % airs.hours or airs.hours,
    )
    given = np.atleast_1d(np.asarray(start_mc, dtype=np.float64)) / 100.0
    profile = _on_cells(given, FINE_CELLS, board.thickness_mm)
    boards = boards_as_stated([board], np.array([1.0, *PACES]))
    contents = [settled.state[:FINE_CELLS, 0], *[profile] * len(PACES)]
    path = run_boards(
        airs,
        boards,
        start_state(boards, np.column_stack(contents)),
        air_index=0,
        start_row=first,
        hours=24 * days,
    )
    away = np.maximum(
        np.abs(path.mean[:, 1:] - path.mean[:, :1]),
        np.abs(path.core[:, 1:] - path.core[:, :1]),
    )
    spread = path.shell[:, 2] - path.core[:, 2]
    return Acclimation(
        days=np.arange(days + 1.0),
        mean=path.mean[:, 2],
        shell=path.shell[:, 2],
        core=path.core[:, 2],
        rest=path.mean[:, 0],
        settled=tuple(_settling(away, spread, within) for within in (1.0, 0.5)),
    )


def _settling(away: FloatArray, spread: FloatArray, within: float) -> Settling:
    quick, middle, slow = (_first_for_good(column < within) for column in away.T)
    return Settling(
        within, quick, middle, slow, None if middle is None else spread[int(middle)]
    )


def _first_for_good(near: NDArray[np.bool_]) -> float | None:
    """Day from which on it stays near, or None."""
    if not near[-1]:
        return None
    far = np.flatnonzero(~near)
    return float(far[-1] + 1) if far.size else 0.0


def _row_of(air: "xr.Dataset", hours: int, when: np.datetime64 | str) -> int:
    """Row of a time, which must be within the air."""
    first = air["time"].to_numpy()[0].astype("datetime64[h]")
    wanted = np.datetime64(when).astype("datetime64[h]")
    row = int((wanted - first).astype(np.int64))
    if not 0 <= row < hours:
        raise WeatherError(
            _(
                "{wanted} is outside the air, which runs from {first} to "
                "{last}; give weather that covers it.",
                wanted=wanted,
                first=first,
                last=first + np.timedelta64(hours - 1, "h"),
            )
        )
    return row


def _on_cells(profile: FloatArray, cells: int, thickness_mm: float) -> FloatArray:
    """Carry a profile in equal cells over to the graded ones, keeping its mean."""
    edge = half_grid(cells, cell_grading(cells, thickness_mm))[3]
    edge = np.concatenate([[0.0], edge])
    held = np.concatenate([[0.0], np.cumsum(profile)]) / profile.size
    at = np.interp(edge, np.linspace(0.0, 1.0, profile.size + 1), held)
    result: FloatArray = np.diff(at) / np.diff(edge)
    return result
