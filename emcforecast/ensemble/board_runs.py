"""Many boards in many airs in one run: what forecasts are made of."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from emcforecast._types import FloatArray
from emcforecast.ensemble.resolution import (
    shell_grading,
    steps_an_hour,
)
from emcforecast.errors import WeatherError
from emcforecast.wood.board import Board

if TYPE_CHECKING:
    import xarray as xr


HOUR = 3600.0
RAIN = 7
"""Column of the air's table that holds the rain."""
DEFAULT_TRANSFER = 0.5e-3
"""m/s, for air that does not say what moves through the stack."""


@dataclass(frozen=True)
class Airs:
    """Several airs over the same hours, ready for the board kernel.

    Attributes
    ----------
    start : numpy.datetime64
        First hour, UTC.
    table : ndarray, shape (airs, hours, 8)
        From `emcforecast.physics.air_table.air_table`.
    surface_transfer : ndarray, shape (airs,)
        Vapour transfer coefficient of a board in that air, m/s.
    rain_film : ndarray, shape (airs,)
        Most rain that a surface keeps, kg/m².
    """

    start: np.datetime64
    table: FloatArray
    surface_transfer: FloatArray
    rain_film: FloatArray

    @property
    def hours(self) -> int:
        """Length of the airs."""
        return int(self.table.shape[1])

    def hour_of(self, times: ArrayLike) -> NDArray[np.int64]:
        """Return the row of each time, which must lie within the airs.

        Parameters
        ----------
        times : array_like of datetime64
            UTC.

        Returns
        -------
        ndarray of int64
        """
        wanted = np.asarray(times, dtype="datetime64[h]")
        first = self.start.astype("datetime64[h]")
        rows: NDArray[np.int64] = (wanted - first).astype(np.int64)
        if np.any((rows < 0) | (rows >= self.hours)):
            last = self.start.astype("datetime64[h]") + (self.hours - 1)
            raise WeatherError(
                f"{wanted.min()} to {wanted.max()} is outside the air, which runs "
                f"from {self.start.astype('datetime64[h]')} to {last}; give weather "
                "that covers it."
            )
        return rows


@dataclass(frozen=True)
class Paths:
    """Moisture through time of every run of an ensemble.

    Attributes
    ----------
    hours : ndarray of int64, shape (records,)
        Hours since each run's start.
    mean, shell, core : ndarray, shape (records, runs)
        % of oven-dry mass: whole board, outer 2 mm (of thin boards the outer sixth
        on each side), inner third. NaN past the end of the air.
    state : ndarray
        Give it back as `state` to go on from the end.
    """

    hours: NDArray[np.int64]
    mean: FloatArray
    shell: FloatArray
    core: FloatArray
    state: FloatArray


def prepare_airs(airs: "Sequence[xr.Dataset]") -> Airs:
    """Work out once what the kernel needs of some airs.

    Parameters
    ----------
    airs : sequence of Dataset
        From `emcforecast.storage.air.air_in`: hourly, all over the same times.
        attrs ``surface_transfer`` (m/s) and ``rain_film`` (kg/m²).

    Returns
    -------
    Airs

    Raises
    ------
    WeatherError
        When the airs do not share their hours.
    """
    from emcforecast.physics.air_table import air_table

    times = airs[0]["time"].to_numpy()
    for air in airs[1:]:
        other = air["time"].to_numpy()
        if other.shape != times.shape or other[0] != times[0]:
            raise WeatherError(
                "the airs of one ensemble must cover the same hours; these begin at "
                f"{times[0]} and {other[0]} with {times.size} and {other.size} hours."
            )
    table = np.empty((len(airs), times.size, 8))
    for k, air in enumerate(airs):
        rain = air["precipitation"].to_numpy() if "precipitation" in air else None
        table[k] = air_table(
            air["air_temperature"].to_numpy(), air["relative_humidity"].to_numpy(), rain
        )
    return Airs(
        start=times[0],
        table=table,
        surface_transfer=np.array(
            [float(a.attrs.get("surface_transfer", DEFAULT_TRANSFER)) for a in airs]
        ),
        rain_film=np.array([float(a.attrs.get("rain_film", 0.0)) for a in airs]),
    )


def run_ensemble(
    airs: Airs,
    boards: Board | Sequence[Board],
    *,
    air_index: ArrayLike,
    start_hour: ArrayLike,
    steps: int,
    start_mc: ArrayLike | None = None,
    state: FloatArray | None = None,
    every: int = 24,
    leg_hour: ArrayLike | None = None,
    factor: ArrayLike = 1.0,
    transfer: ArrayLike = 1.0,
    wrap: bool = False,
    fine: bool = False,
    threads: int | None = None,
) -> Paths:
    """Run boards through airs, each with its own air, start hour and variations.

    Parameters
    ----------
    airs : Airs
        From `prepare_airs`.
    boards : Board or sequence of Board
        One for all runs, or one a run.
    air_index : array_like of int, shape (runs,) or (legs, runs)
        Which air each run lies in; with a route, one row a leg.
    start_hour : array_like of int, shape (runs,)
        Row of the air at which each run begins (`Airs.hour_of`).
    steps : int
        Hours to run.
    start_mc : array_like, optional
        % of oven-dry mass: one number, one a run, or a profile from the centre,
        shape (cells, runs); green when left out.
    state : ndarray, optional
        Of an earlier run, to go on from, instead of `start_mc`.
    every : int
        Hours between records.
    leg_hour : array_like of int, shape (legs, runs), optional
        Hours since the start at which each leg of the route begins; first row 0. A
        leg that begins after `steps` never happens.
    factor, transfer : array_like
        Multiply each run's diffusion and surface transfer.
    wrap : bool
        Begin the air again at its end (a typical year); otherwise NaN follows it.
    fine : bool
        24 cells laid out for the shell, for shell values; and the more
        exact mean of boards above 45 mm; slower by half.
    threads : int, optional
        All cores when left out.

    Returns
    -------
    Paths

    Notes
    -----
    Thread-safe. About 0.2 ms a board and year on two cores in large batches; runs
    go 64 to a block, so batches far smaller than that waste lanes. Thin boards in fast
    air take several steps an hour (`emcforecast.ensemble.resolution`).
    """
    from emcforecast.physics.boards import advance, fresh_state
    from emcforecast.physics.diffusion import CELLS, FINE_CELLS, GRADING

    index = np.asarray(air_index, dtype=np.int64)
    legs_first = index if index.ndim < 2 else index[0]
    many = [boards] if isinstance(boards, Board) else list(boards)
    runs = np.broadcast_shapes(
        legs_first.shape, np.shape(start_hour), (len(many),), np.shape(factor)
    )[-1]
    if state is not None:
        runs = state.shape[1]
    cells = FINE_CELLS if fine else CELLS
    if state is None:
        if start_mc is None:
            start = np.array([board.start_content() for board in many])
        else:
            start = np.asarray(start_mc, dtype=np.float64) / 100.0
        if start.ndim < 2:
            runs = np.broadcast_shapes(start.shape, (runs,))[-1]
        state = fresh_state(start, runs, cells)

    def each(name: str) -> FloatArray:
        values = np.array([getattr(board, name) for board in many], dtype=np.float64)
        return np.broadcast_to(values, (runs,))

    def by_run(values: ArrayLike) -> Any:
        array = np.asarray(values)
        return np.broadcast_to(array, (*array.shape[:-1], runs))

    thickness = each("thickness_mm")
    inputs: dict[str, Any] = {
        "air_index": by_run(index),
        "start_hour": by_run(start_hour),
        "thickness_m": thickness / 1000.0,
        "diffusivity": each("diffusivity") * np.asarray(factor, dtype=np.float64),
        "density": each("basic_density"),
        "surface_transfer": by_run(
            airs.surface_transfer[index] * np.asarray(transfer, dtype=np.float64)
        ),
        "rain_film": by_run(airs.rain_film[index]),
        "state": state,
    }
    if leg_hour is not None:
        inputs["leg_step"] = by_run(leg_hour)
    fine = state.shape[0] == 2 * FINE_CELLS + 3
    records = steps // every + 1
    found = Paths(
        hours=np.arange(records, dtype=np.int64) * every,
        mean=np.empty((records, runs)),
        shell=np.empty((records, runs)),
        core=np.empty((records, runs)),
        state=np.empty_like(state),
    )
    speed = np.atleast_2d(inputs["surface_transfer"]).max(axis=0)
    cuts = steps_an_hour(thickness, speed, fine=fine)
    # Fine cells are laid out for one thickness.
    sizes = thickness if fine else np.zeros(runs)
    for size, cut in sorted(set(zip(sizes.tolist(), cuts.tolist(), strict=True))):
        mine = (sizes == size) & (cuts == cut)
        part = {name: values[..., mine] for name, values in inputs.items()}
        part["start_hour"] = cut * part["start_hour"]
        if "leg_step" in part:
            part["leg_step"] = cut * part["leg_step"]
        run = advance(
            _cut_hours(airs.table, cut),
            steps=cut * steps,
            every=cut * every,
            step_seconds=HOUR / cut,
            wrap=wrap,
            grading=shell_grading(FINE_CELLS, size) if fine else GRADING,
            threads=threads,
            **part,
        )
        for name in ("mean", "shell", "core"):
            getattr(found, name)[:, mine] = 100.0 * getattr(run, name)
        found.state[:, mine] = run.state
    return found


def _cut_hours(table: FloatArray, parts: int) -> FloatArray:
    """Repeat each hour of the air for the steps it is cut into, sharing its rain."""
    if parts == 1:
        return table
    finer = np.repeat(table, parts, axis=1)
    finer[..., RAIN] /= parts
    return finer
