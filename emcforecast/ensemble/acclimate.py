"""How long a board needs in new air until it lies as if it had always been there."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.board_runs import prepare_airs, run_ensemble
from emcforecast.ensemble.resolution import shell_grading
from emcforecast.ensemble.simulate import running_emc
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr


PACES = (1.6, 1.0, 1.0 / 1.6)
"""Diffusion of quick, middling and slow wood over the board's own: below 20 % MC little
is validated in public, and times there are good to within ×/÷ 1.5 to 2."""
YEAR = 8760


@dataclass(frozen=True)
class Settling:
    """Days until a board stays within some % MC of rest.

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
    """Bring a board into new air and see when it lies as if it had always been there.

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
    airs = prepare_airs([air])
    first = 0 if brought_in is None else int(airs.hour_of(np.array([brought_in]))[0])
    resting = running_emc(air, board).to_numpy()
    # A like board, flat a year before: by the day it has its own shell and core.
    before = (first - YEAR) % airs.hours
    settled = run_ensemble(
        airs,
        board,
        air_index=[0],
        start_hour=[before],
        steps=(first - before) % airs.hours or airs.hours,
        start_mc=resting[before],
        wrap=True,
        fine=True,
    )
    cells = (settled.state.shape[0] - 3) // 2
    given = np.atleast_1d(np.asarray(start_mc, dtype=np.float64))
    profile = _on_cells(given, cells, board.thickness_mm)
    rest_profile = 100.0 * settled.state[:cells, 0]
    runs = len(PACES)
    path = run_ensemble(
        airs,
        board,
        air_index=np.zeros(runs + 1, dtype=np.int64),
        start_hour=np.full(runs + 1, first),
        steps=24 * days,
        start_mc=np.column_stack([rest_profile, *[profile] * runs]),
        factor=np.array([1.0, *PACES]),
        wrap=True,
        fine=True,
    )
    away = np.maximum(
        np.abs(path.mean[:, 1:] - path.mean[:, :1]),
        np.abs(path.core[:, 1:] - path.core[:, :1]),
    )
    spread = path.shell[:, 2] - path.core[:, 2]
    return Acclimation(
        days=path.hours / 24.0,
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


def _on_cells(profile: FloatArray, cells: int, thickness_mm: float) -> FloatArray:
    """Carry a profile in equal cells over to the graded ones, keeping its mean."""
    from emcforecast.physics.diffusion import half_grid

    grading = shell_grading(cells, thickness_mm)
    edge = np.concatenate([[0.0], half_grid(cells, grading)[3]])
    held = np.concatenate([[0.0], np.cumsum(profile)]) / profile.size
    at = np.interp(edge, np.linspace(0.0, 1.0, profile.size + 1), held)
    result: FloatArray = np.diff(at) / np.diff(edge)
    return result
