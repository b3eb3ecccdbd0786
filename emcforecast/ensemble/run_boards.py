"""Boards run through air tables: the one wrapper of the board kernel."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray, IntArray
from emcforecast.ensemble.boards import Boards
from emcforecast.ensemble.draws import as_wood
from emcforecast.ensemble.resolution import cell_grading, steps_an_hour
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.physics.boards import BoardRun, advance
from emcforecast.physics.section import exposure, thickness_gain

if TYPE_CHECKING:
    import xarray as xr

HOUR_SECONDS = 3600.0
DEFAULT_TRANSFER = 0.5e-3
"""m/s, for air that does not say what moves through the stack."""


@dataclass(frozen=True)
class AirTables:
    """Several airs over the same hours, as the board kernel reads them.

    Parameters
    ----------
    table : ndarray, shape (airs, hours, 8)
        From `emcforecast.physics.boards.air_table`.
    surface_transfer : ndarray, shape (airs,)
        Vapour transfer coefficient of a board in that air, m/s.
    rain_film : ndarray, shape (airs,)
        Most rain that a surface keeps, kg/m².
    """

    table: FloatArray
    surface_transfer: FloatArray
    rain_film: FloatArray

    @property
    def hours(self) -> int:
        """Length of the airs."""
        return int(self.table.shape[1])


def air_tables(airs: "Sequence[xr.Dataset]") -> AirTables:
    """Work out what the kernel needs of some airs at the wood.

    Parameters
    ----------
    airs : sequence of Dataset
        From `emcforecast.storage.air.air_in`: hourly, all over the same times.
        attrs ``surface_transfer`` (m/s) and ``rain_film`` (kg/m²).

    Returns
    -------
    AirTables

    Raises
    ------
    WeatherError
        When an air is not hourly, or the airs do not share their hours.
    """
    from emcforecast.physics.boards import air_table

    times = airs[0]["time"].to_numpy()
    table = np.empty((len(airs), times.size, 8))
    for k, air in enumerate(airs):
        if air.attrs.get("step", "hour") != "hour":
            raise WeatherError(
                _(
                    "a board needs hourly air; this series is by the {step}. "
                    "Rebuild it with hourly_from_monthly first.",
                    step=air.attrs["step"],
                )
            )
        other = air["time"].to_numpy()
        if other.shape != times.shape or other[0] != times[0]:
            raise WeatherError(
                _(
                    "the airs of one run must cover the same hours; these begin "
                    "at {times} and {other} with {count} and {count2} hours.",
                    times=times[0],
                    other=other[0],
                    count=times.size,
                    count2=other.size,
                )
            )
        rain = air["precipitation"].to_numpy() if "precipitation" in air else None
        air_table(
            air["air_temperature"].to_numpy(),
            air["relative_humidity"].to_numpy(),
            rain,
            out=table[k],
        )
    return AirTables(
        table,
        np.array(
            [float(a.attrs.get("surface_transfer", DEFAULT_TRANSFER)) for a in airs]
        ),
        np.array([float(a.attrs.get("rain_film", 0.0)) for a in airs]),
    )


@dataclass(frozen=True)
class Moisture:
    """Moisture content through time, % of oven-dry mass.

    Parameters
    ----------
    mean, shell, core : ndarray, shape (records, boards)
        At the start and after every so many hours: whole board, outer 2 mm (of thin
        boards the outer sixth on each side), inner third. NaN where the air is missing.
    state : ndarray
        What `run_boards` needs to go on.
    """

    mean: FloatArray
    shell: FloatArray
    core: FloatArray
    state: FloatArray

    def take(self, index: IntArray) -> "Moisture":
        """Return some of the boards, by number."""
        return Moisture(
            self.mean[:, index],
            self.shell[:, index],
            self.core[:, index],
            self.state[:, index],
        )

    def then(self, later: "Moisture") -> "Moisture":
        """Join a run that went on from this one's end."""
        return Moisture(
            np.concatenate([self.mean[:-1], later.mean]),
            np.concatenate([self.shell[:-1], later.shell]),
            np.concatenate([self.core[:-1], later.core]),
            later.state,
        )


def run_boards(
    air: AirTables,
    boards: Boards,
    state: FloatArray,
    *,
    air_index: ArrayLike,
    start_row: ArrayLike,
    hours: int,
    leg_hour: ArrayLike | None = None,
    every: int = 24,
    wrap: bool = True,
    threads: int | None = None,
) -> Moisture:
    """Run boards through airs, all at once.

    Parameters
    ----------
    air : AirTables
        The airs.
    boards : Boards
        The boards.
    state : ndarray
        From `start_state` or an earlier run; left unchanged.
    air_index : array_like of int, shape (boards,) or (legs, boards)
        Which air each board meets; with a route, one row a leg.
    start_row : array_like of int
        Row of the air at which each board begins.
    hours : int
        How long.
    leg_hour : array_like of int, shape (legs, boards), optional
        Hour on which each leg begins, counted from the start; the first row is 0. A
        leg that begins after `hours` never happens.
    every : int
        Hours between records.
    wrap : bool
        Begin the air again at its end; otherwise NaN follows it.
    threads : int, optional
        All cores when left out.

    Returns
    -------
    Moisture

    Notes
    -----
    Thread-safe. About 0.2 ms a board and year on two cores in batches of 64 and more.
    Thin boards in fast air take several steps an hour (`ensemble.resolution`).
    """
    index = np.asarray(air_index, dtype=np.int64)
    n = boards.count
    transfer = np.broadcast_to(
        air.surface_transfer[index], (*index.shape[:-1], n) if index.ndim else (n,)
    )
    inputs: dict[str, Any] = {
        "air_index": np.broadcast_to(index, transfer.shape),
        "start_hour": np.broadcast_to(np.asarray(start_row, dtype=np.int64), (n,)),
        "thickness_m": boards.thickness,
        "diffusivity": boards.diffusivity
        * boards.section
        * thickness_gain(boards.thickness, boards.power),
        "green_ratio": boards.green_ratio,
        "exposure": exposure(boards.thickness, boards.length),
        "density": boards.density,
        "surface_transfer": transfer,
        "rain_film": np.broadcast_to(air.rain_film[index], transfer.shape),
        "state": state,
    }
    if leg_hour is not None:
        inputs["leg_step"] = np.broadcast_to(
            np.asarray(leg_hour, dtype=np.int64), transfer.shape
        )
    cells = (state.shape[0] - 3) // 2
    sizes, size_of = np.unique(1000.0 * boards.thickness, return_inverse=True)
    gradings = [cell_grading(cells, float(size)) for size in sizes]
    fastest = np.atleast_2d(transfer).max(axis=0)
    steps = steps_an_hour(sizes[size_of], fastest, cells=cells)
    group_of = np.array(gradings)[size_of] + 10.0 * steps
    groups = np.unique(group_of)
    if groups.size == 1:
        layout = gradings[0], int(steps[0])
        run = _advance(air, inputs, hours, every, wrap, *layout, threads)
    else:
        records = hours // every + 1
        mean, shell, core = (np.empty((records, n)) for _ in range(3))
        run = BoardRun(mean, shell, core, np.empty_like(state))
        for group in groups:
            mine = np.flatnonzero(group_of == group)
            part = {name: values[..., mine] for name, values in inputs.items()}
            layout = gradings[size_of[mine[0]]], int(steps[mine[0]])
            some = _advance(air, part, hours, every, wrap, *layout, threads)
            for name in ("mean", "shell", "core", "state"):
                getattr(run, name)[:, mine] = getattr(some, name)
    parts = [run.mean, run.shell, run.core]
    if not (boards.sorption == 1.0).all():
        parts = [as_wood(part, boards.sorption) for part in parts]
    mean, shell, core = (100.0 * part for part in parts)
    return Moisture(mean, shell, core, run.state)


def _advance(
    air: AirTables,
    inputs: dict[str, Any],
    hours: int,
    every: int,
    wrap: bool,
    grading: float,
    steps: int,
    threads: int | None,
) -> BoardRun:
    """Run boards that share their cells and their steps an hour."""
    given = dict(inputs)
    if "leg_step" in given:
        given["leg_step"] = steps * given["leg_step"]
    return advance(
        air.table,
        steps=steps * hours,
        every=steps * every,
        steps_per_row=steps,
        step_seconds=HOUR_SECONDS / steps,
        wrap=wrap,
        grading=grading,
        threads=threads,
        **given,
    )
