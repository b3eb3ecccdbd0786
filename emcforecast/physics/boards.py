"""Many boards in many airs: arrays in, arrays out, spread over all cores."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from emcforecast._types import FloatArray
from emcforecast.conversions import KELVIN
from emcforecast.physics.diffusion import (
    CELLS,
    GRADING,
    SHELL_MM,
    SLOPE,
    content_factor,
    content_polynomial,
    half_grid,
    temperature_factor,
)
from emcforecast.physics.kernels.board_diffusion import GAMMA, LANES, MAX_CELLS
from emcforecast.physics.kernels.boards import run_blocks
from emcforecast.physics.kernels.compiled import processors
from emcforecast.physics.moist_air import R_V, saturation_vapour_pressure
from emcforecast.physics.pieces import pieces_of
from emcforecast.physics.sorption import (
    COLDEST,
    K1,
    K2,
    K,
    W,
    coefficients,
    equilibrium_humidity,
    equilibrium_moisture_content,
)

LATENT = 2.45e6
"""J/kg."""
HEAT_CAPACITY = 1006.0
"""Of air, J/(kg K)."""
LEWIS = 0.91
"""Lewis number of moist air to the two thirds."""
ISOTHERM = np.array([*W, *K, *K1, *K2])
"""Coefficients of W, K, K1 and K2 in °C, constant first, as the kernel takes them."""


def evaporative_cooling(temperature: ArrayLike) -> FloatArray:
    """Cooling number of a wet surface: how much its own evaporation holds it back.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C.

    Returns
    -------
    ndarray
        P, elementwise; the flux of a surface of activity a_w is multiplied by
        1/(1 + a_w P).

    Notes
    -----
    P = (de_s/dT) L_v / (R_v T ρ c_p Le^⅔), ρ = 353/T: the heat of evaporation comes
    from the air by convection, so that the surface is cooler than the air.

    Examples
    --------
    >>> [round(1 / (1 + float(evaporative_cooling(t))), 2) for t in (0, 10, 20, 30)]
    [0.58, 0.43, 0.3, 0.2]
    """
    t = np.asarray(temperature, dtype=np.float64)
    kelvin = t + KELVIN
    slope = saturation_vapour_pressure(t) * 17.62 * 243.12 / (243.12 + t) ** 2
    result: FloatArray = (
        slope * LATENT / (R_V * kelvin * (353.0 / kelvin) * HEAT_CAPACITY * LEWIS)
    )
    return result


def saturation_density(temperature: ArrayLike) -> FloatArray:
    """Density of vapour in saturated air, kg/m³, elementwise from °C."""
    t = np.asarray(temperature, dtype=np.float64)
    result: FloatArray = saturation_vapour_pressure(t) / (R_V * (t + KELVIN))
    return result


def air_table(
    temperature: ArrayLike,
    relative_humidity: ArrayLike,
    precipitation: ArrayLike | None = None,
    resting_humidity: ArrayLike | None = None,
    out: FloatArray | None = None,
) -> FloatArray:
    """Air series in the form that the board kernel reads.

    Parameters
    ----------
    temperature : array_like
        Air temperature, °C, any shape, time last.
    relative_humidity : array_like
        Relative humidity over liquid water, %.
    precipitation : array_like, optional
        Rain on the wood, mm per step.
    resting_humidity : array_like, optional
        Humidity (%) at which the printed sorption relation gives the content at which
        this wood rests in this air; the air's own when left out.
    out : ndarray, shape (..., 8), optional
        Filled and returned; a new array when left out.

    Returns
    -------
    ndarray, shape (..., 8)
        Diffusion over its value at 20 °C; vapour density at saturation (kg/m³);
        resting humidity 0 to 1; cooling number; EMC (kg/kg); K h/(1 - K h); the
        temperature of the sorption formula (°C); rain (kg/m²).

    Notes
    -----
    With a resting humidity h' above the air's h the vapour density is multiplied by
    (1 - h)/(1 - h'): wood at rest then holds more, and free water leaves as before.
    """
    t, h = np.broadcast_arrays(
        np.asarray(temperature, dtype=np.float64),
        np.asarray(relative_humidity, dtype=np.float64),
    )
    table = np.empty((*t.shape, 8)) if out is None else out
    t, h = np.atleast_1d(t, h)
    rain, rest = (
        None if given is None else np.broadcast_to(given, t.shape)
        for given in (precipitation, resting_humidity)
    )
    rows = table if table.ndim > 1 else table[None]
    for hours in pieces_of(t.shape):
        part = (..., hours)
        _fill_air_table(
            rows[(*part, slice(None))],
            t[part],
            h[part],
            0.0 if rain is None else rain[part],
            None if rest is None else rest[part],
        )
    return table


def _fill_air_table(
    table: FloatArray,
    t: FloatArray,
    relative_humidity: FloatArray,
    rain: ArrayLike,
    resting_humidity: FloatArray | None,
) -> None:
    """Fill the columns of some hours."""
    h = np.clip(relative_humidity, 0.0, 100.0) / 100.0
    table[..., 0] = temperature_factor(t)
    table[..., 1] = saturation_density(t)
    if resting_humidity is not None:
        rest = np.clip(resting_humidity, 0.0, 100.0)
        dry = 1.0 - h
        h = rest / 100.0
        table[..., 1] *= np.divide(dry, 1.0 - h, out=np.ones(t.shape), where=h < 1.0)
    table[..., 2] = h
    table[..., 3] = evaporative_cooling(t)
    table[..., 4] = equilibrium_moisture_content(t, 100.0 * h) / 100.0
    _, k, _, _ = coefficients(t)
    table[..., 5] = k * h / (1.0 - k * h)
    table[..., 6] = np.maximum(t, COLDEST)
    table[..., 7] = rain


@dataclass(frozen=True)
class BoardRun:
    """What a run of boards gives; the last axis is boards.

    Attributes
    ----------
    mean, shell, core : ndarray, shape (records, boards)
        Moisture content, kg/kg, at the start and after every `every` steps.
    state : ndarray, shape (2 cells + 3, boards)
        What `advance` needs to go on: content by cell from the centre (the first
        `cells` rows), content extrapolated by half a step, surface variable, rain
        film (kg/m²), content gained through the surface since the start (kg/kg).
    """

    mean: FloatArray
    shell: FloatArray
    core: FloatArray
    state: FloatArray


def fresh_state(content: ArrayLike, boards: int, cells: int = CELLS) -> FloatArray:
    """State of boards that begin at a moisture content.

    Parameters
    ----------
    content : array_like
        Start, kg/kg: one number, one a board, or (cells, boards) from the centre.
    boards : int
        Number of boards.
    cells : int
        Cells in half a board.

    Returns
    -------
    ndarray, shape (2 cells + 3, boards)
        For `advance`.

    Examples
    --------
    >>> fresh_state(0.12, 3).shape
    (35, 3)
    """
    state = np.zeros((2 * cells + 3, boards))
    state[:cells] = content
    state[cells : 2 * cells] = state[:cells]
    # Any start would do for the surface variable; its value at 20 °C is near.
    k = coefficients(20.0)[1]
    x = k * equilibrium_humidity(20.0, 100.0 * state[cells - 1]) / 100.0
    state[2 * cells] = np.nan_to_num(x / (1.0 - x), nan=1.0)
    return state


def _padded(values: ArrayLike, boards: int) -> FloatArray:
    """Copy, and repeat the last board so that the last block is full."""
    array = np.asarray(values, dtype=np.float64)
    if array.ndim < 2:
        array = np.broadcast_to(array, (boards,))
    short = -boards % LANES
    if not short:
        return np.array(array, order="C")
    return np.concatenate([array, np.repeat(array[..., -1:], short, axis=-1)], axis=-1)


def advance(
    air: FloatArray,
    *,
    steps: int,
    air_index: ArrayLike,
    start_hour: ArrayLike,
    thickness_m: ArrayLike,
    diffusivity: ArrayLike,
    density: ArrayLike,
    surface_transfer: ArrayLike,
    state: FloatArray,
    rain_film: ArrayLike = 0.0,
    green_ratio: ArrayLike = 1.0,
    exposure: ArrayLike = 1.0,
    leg_step: ArrayLike | None = None,
    every: int = 24,
    wrap: bool = False,
    grading: float = GRADING,
    step_seconds: float = 3600.0,
    steps_per_row: int = 1,
    slope: float = SLOPE,
    isotherm: FloatArray = ISOTHERM,
    threads: int | None = None,
) -> BoardRun:
    """Run boards through their airs, all at once.

    Parameters
    ----------
    air : ndarray, shape (airs, hours, 8)
        Tables made by `air_table`.
    steps : int
        Steps to take.
    air_index : array_like of int
        Air of each board; with a route, shape (legs, boards).
    start_hour : array_like of int
        Row of the air table at which each board begins.
    thickness_m : array_like
        Thickness, m; both faces exposed.
    diffusivity : array_like
        Coefficient at 12 % and 20 °C, m²/s.
    density : array_like
        Oven-dry mass over green volume, kg/m³.
    surface_transfer : array_like
        Vapour transfer coefficient, m/s; with a route, shape (legs, boards).
    state : ndarray, shape (2 cells + 3, boards)
        From `fresh_state` or an earlier run; left unchanged.
    rain_film : array_like
        Most rain that the surface keeps, kg/m²; with a route, (legs, boards).
    green_ratio : array_like
        The coefficient of green wood over that at fibre saturation.
    exposure : array_like
        Surface that the air reaches over that of the two faces.
    leg_step : array_like of int, shape (legs, boards), optional
        Step at which each leg of the route begins; the first row is 0.
    every : int
        Steps between two records.
    wrap : bool
        At the end of the air begin it again; otherwise boards turn NaN there.
    grading : float
        Width of the surface cell over that of the centre cell.
    step_seconds : float
        Length of a step, s.
    steps_per_row : int
        Steps in one row of the air table, which share its rain; steps, records and
        legs are counted in steps, the start in rows.
    slope : float
        Growth of the diffusion coefficient with content; 0 for a constant one.
    isotherm : ndarray, shape (12,)
        Coefficients of the sorption relation.
    threads : int, optional
        Threads to use; all cores when left out.

    Returns
    -------
    BoardRun
        Records and the state at the end.

    Notes
    -----
    Safe to call from several threads at once: every call has its own workspace.
    """
    boards = state.shape[1]
    cells = (state.shape[0] - 3) // 2
    # The kernel takes the cells between the centre's and the surface's two by two.
    if cells % 2 or not 4 <= cells <= MAX_CELLS:
        raise ValueError(
            f"{cells} cells; an even number from 4 to {MAX_CELLS} is allowed"
        )
    grid = np.ascontiguousarray(half_grid(cells, grading))
    length = 0.5 * _padded(thickness_m, boards)
    rho = _padded(density, boards)
    bare = _padded(exposure, boards)
    table = np.ascontiguousarray(air, dtype=np.float64)
    airs, hours = table.shape[0], table.shape[1]
    first_leg = np.zeros((1, boards)) if leg_step is None else np.asarray(leg_step)
    legs = (first_leg.shape[0], boards)
    leg_at = _padded(np.broadcast_to(first_leg, legs), boards).astype(np.int64)
    leg_air = _padded(np.broadcast_to(air_index, legs), boards).astype(np.int64)
    start = _padded(start_hour, boards).astype(np.int64)
    if leg_air.min() < 0 or leg_air.max() >= airs:
        raise ValueError(f"air index outside 0 to {airs - 1}")
    if start.min() < 0 or start.max() >= hours:
        raise ValueError(f"start hour outside 0 to {hours - 1}")
    beta = _padded(np.broadcast_to(surface_transfer, legs), boards)
    most = _padded(np.broadcast_to(rain_film, legs), boards)
    board = np.vstack(
        [
            GAMMA * step_seconds * _padded(diffusivity, boards) / length**2,
            np.minimum(SHELL_MM / 1000.0 / length, 1.0 / 3.0),
            rho * length / (GAMMA * bare),
            (_padded(green_ratio, boards) - 1.0) * content_factor(1.0, slope),
        ]
    )
    ends = _padded(state, boards)
    records = np.empty((steps // every + 1, 3, length.size))
    work = (
        int(steps),
        int(every),
        int(steps_per_row),
        table.reshape(-1),
        int(hours),
        bool(wrap),
        start,
        leg_air,
        leg_at,
        GAMMA * step_seconds * beta * bare / (rho * length),
        most,
        board,
        grid,
        np.asarray(isotherm, dtype=np.float64),
        np.array(content_polynomial(float(slope))),
        ends,
        records,
    )
    blocks = length.size // LANES
    workers = min(threads or processors(), blocks)
    if workers <= 1:
        run_blocks(0, blocks, *work)
    else:
        with ThreadPoolExecutor(workers) as pool:
            jobs = [pool.submit(run_blocks, k, k + 1, *work) for k in range(blocks)]
            for job in jobs:
                job.result()
    return BoardRun(
        mean=records[:, 0, :boards],
        shell=records[:, 1, :boards],
        core=records[:, 2, :boards],
        state=ends[:, :boards],
    )
