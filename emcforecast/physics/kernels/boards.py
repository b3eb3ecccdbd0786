"""The compiled board: blocks of boards side by side, one implicit step an hour."""

import numpy as np

from emcforecast._types import FloatArray, IntArray
from emcforecast.physics.kernels.board_diffusion import (
    A_RAIN,
    A_REST,
    AIR_COLUMNS,
    CONTENT,
    CORE,
    FILM,
    FILM_COEFFICIENT,
    FILM_MOST,
    FILM_SCALE,
    FIRST_AIR,
    GAIN,
    GREEN,
    KAPPA,
    LANES,
    LINE,
    MID,
    ONE,
    SHELL,
    SUM,
    SUM_CORE,
    SUM_SHELL,
    SURFACE_Y,
    WORKSPACE,
    N,
    U,
    eliminate,
    first_stage,
    second_stage,
)
from emcforecast.physics.kernels.board_surface import meet_air, rain_on
from emcforecast.physics.kernels.compiled import compiled, prefetch

FETCH_ROWS = 6
"""So many rows ahead a board's air is asked for: memory is slower than a step."""


@compiled(inline=True)
def _advance_hour(hour: int, hours: int, wrap: bool) -> int:
    return hour - hours if wrap and hour >= hours else hour


@compiled(inline=True)
def _fetch_air(
    w: FloatArray,
    air: FloatArray,
    hours: int,
    wrap: bool,
    place: IntArray,
    hour: IntArray,
    alike: bool,
    rainy: bool,
    next_row: int,
    rain_share: float,
) -> bool:
    """Copy each lane's hour of air into the workspace; tell whether any is wet.

    `next_row` is 1 in the last step of a row of the air, else 0; each step gets
    `rain_share` of the row's rain.
    """
    if alike:
        h = _advance_hour(hour[0], hours, wrap)
        hour[0] = h + next_row
        row = U((place[0] * hours + (h if h < hours else 0)) * AIR_COLUMNS)
        # Rain meets every lane's own film; all else is read from the first lane.
        lanes = N if rainy else ONE
        for k in range(U(AIR_COLUMNS)):
            value = air[row + k]
            for b in range(lanes):
                w[FIRST_AIR + k * N + b] = value
        if h >= hours:
            for b in range(lanes):
                w[A_REST + b] = np.nan
    else:
        for b in range(LANES):
            h = _advance_hour(hour[b], hours, wrap)
            hour[b] = h + next_row
            row = U((place[b] * hours + (h if h < hours else 0)) * AIR_COLUMNS)
            lane = U(b)
            prefetch(air, row + U(FETCH_ROWS * AIR_COLUMNS))
            for k in range(U(AIR_COLUMNS)):
                w[FIRST_AIR + k * N + lane] = air[row + k]
            if h >= hours:
                w[A_REST + lane] = np.nan
    if not rainy:
        return False
    wet = 0
    for b in range(N):
        w[A_RAIN + b] *= rain_share
        wet += int(w[A_RAIN + b] + w[FILM + b] > 0.0)
    return wet > 0


@compiled(fused=True)
def _record(
    w: FloatArray,
    cells: np.uint64,
    width: FloatArray,
    outer: FloatArray,
    out: FloatArray,
    column: int,
) -> None:
    """Write the mean, shell and core of every lane."""
    for b in range(N):
        w[SUM + b] = 0.0
        w[SUM_SHELL + b] = 0.0
        w[SUM_CORE + b] = 0.0
    for i in range(cells):
        c = i * N
        s, right = width[i], outer[i]
        core = max(min(right, CORE) - (right - s), 0.0) / CORE
        for b in range(N):
            u = w[CONTENT + c + b]
            shell = w[SHELL + b]
            part = min(max(right - (1.0 - shell), 0.0), s) / shell
            w[SUM + b] += s * u
            w[SUM_SHELL + b] += part * u
            w[SUM_CORE + b] += core * u
    for b in range(LANES):
        out[0, column + b] = w[SUM + U(b)]
        out[1, column + b] = w[SUM_SHELL + U(b)]
        out[2, column + b] = w[SUM_CORE + U(b)]


@compiled()
def _load(
    w: FloatArray, state: FloatArray, board: FloatArray, column: int, cells: int
) -> None:
    """Bring a block's boards into the workspace."""
    for b in range(LANES):
        lane, at = U(b), column + b
        w[KAPPA + lane] = board[0, at]
        w[SHELL + lane] = board[1, at]
        w[FILM_SCALE + lane] = board[2, at]
        w[GREEN + lane] = board[3, at]
        for i in range(cells):
            w[CONTENT + U(i) * N + lane] = state[i, at]
            w[MID + U(i) * N + lane] = state[cells + i, at]
        w[SURFACE_Y + lane] = state[2 * cells, at]
        w[FILM + lane] = state[2 * cells + 1, at]
        w[GAIN + lane] = state[2 * cells + 2, at]


@compiled()
def _store(w: FloatArray, state: FloatArray, column: int, cells: int) -> None:
    """Keep a block's boards so that another run can go on from them."""
    for b in range(LANES):
        lane, at = U(b), column + b
        for i in range(cells):
            state[i, at] = w[CONTENT + U(i) * N + lane]
            state[cells + i, at] = w[MID + U(i) * N + lane]
        state[2 * cells, at] = w[SURFACE_Y + lane]
        state[2 * cells + 1, at] = w[FILM + lane]
        state[2 * cells + 2, at] = w[GAIN + lane]


@compiled()
def run_blocks(
    first: int,
    stop: int,
    steps: int,
    every: int,
    steps_per_row: int,
    air: FloatArray,
    hours: int,
    wrap: bool,
    start: IntArray,
    leg_air: IntArray,
    leg_step: IntArray,
    leg_film: FloatArray,
    leg_most: FloatArray,
    board: FloatArray,
    grid: FloatArray,
    isotherm: FloatArray,
    diffusion: FloatArray,
    state: FloatArray,
    out: FloatArray,
) -> None:
    """Advance blocks of boards; every array's last axis is boards, padded.

    Parameters
    ----------
    first, stop : int
        Blocks to run.
    steps, every : int
        Steps to take, and steps between two records.
    steps_per_row : int
        Steps in one row of the air table, which share its rain.
    air : ndarray
        Air tables one after another, flat: airs × hours × `AIR_COLUMNS`.
    hours : int
        Hours in one air table.
    wrap : bool
        Begin the table again at its end; otherwise boards turn NaN there.
    start : ndarray of int64, shape (boards,)
        Hour of the air table at the first step.
    leg_air, leg_step : ndarray of int64, shape (legs, boards)
        Air of each leg of the route, and the step at which it begins.
    leg_film, leg_most : ndarray, shape (legs, boards)
        Film coefficient (GAMMA Δt β A / (ρ V), m³/kg) and the most rain the surface
        keeps (kg/m²).
    board : ndarray, shape (4, boards)
        GAMMA Δt D12 / L² below fibre saturation, the shell's share of half the
        thickness, ρ V / (A GAMMA) (kg/m²), and what green wood's coefficient has over
        that at fibre saturation, as a share of D12.
    grid : ndarray, shape (4, cells)
        Width, inverse distance to the next centre (in the last place, of the last
        centre to the surface), weight of the next cell at the face, outer edge.
    isotherm, diffusion : ndarray, shape (12,), (7,)
        See `emcforecast.physics.boards`.
    state : ndarray, shape (2 cells + 3, boards)
        Content by cell, content extrapolated half a step by cell, surface variable,
        film (kg/m²), content gained through the surface. Changed in place.
    out : ndarray, shape (records, 3, boards)
        Mean, shell and core at the start and after every `every` steps.
    """
    # A vector that straddles two cache lines costs double: begin on a line.
    room = np.empty(WORKSPACE + LINE)
    w = room[(-(room.ctypes.data // 8)) % LINE :]
    place = np.empty(LANES, np.int64)
    hour = np.empty(LANES, np.int64)
    leg = np.empty(LANES, np.int64)
    cells = grid.shape[1]
    n = U(cells)
    last = n - ONE
    width, inverse, lean, outer = grid[0], grid[1], grid[2], grid[3]
    half = inverse[last]
    legs = leg_step.shape[0]
    rain_share = 1.0 / steps_per_row
    for block in range(first, stop):
        column = block * LANES
        _load(w, state, board, column, cells)
        alike = legs == 1
        rainy = False
        for b in range(LANES):
            at = column + b
            alike &= leg_air[0, at] == leg_air[0, column] and start[at] == start[column]
            for k in range(legs):
                rainy |= leg_most[k, at] > 0.0
            rainy |= state[2 * cells + 1, at] > 0.0
            place[b] = leg_air[0, at]
            hour[b] = start[at]
            leg[b] = 0
            w[FILM_COEFFICIENT + U(b)] = leg_film[0, at]
            w[FILM_MOST + U(b)] = leg_most[0, at]
        record = 0
        for step in range(steps + 1):
            if step % every == 0:
                _record(w, n, width, outer, out[record], column)
                record += 1
            if step == steps:
                break
            if legs > 1:
                for b in range(LANES):
                    k = leg[b] + 1
                    while k < legs and leg_step[k, column + b] <= step:
                        leg[b] = k
                        place[b] = leg_air[k, column + b]
                        w[FILM_COEFFICIENT + U(b)] = leg_film[k, column + b]
                        w[FILM_MOST + U(b)] = leg_most[k, column + b]
                        k += 1
            next_row = int((step + 1) % steps_per_row == 0)
            wet = _fetch_air(
                w,
                air,
                hours,
                wrap,
                place,
                hour,
                alike,
                rainy,
                next_row,
                rain_share,
            )
            # Twice, so that the compiler knows the last argument.
            if alike:
                meet_air(w, isotherm, diffusion, last, width, inverse, lean, True)
            else:
                meet_air(w, isotherm, diffusion, last, width, inverse, lean, False)
            if wet:
                rain_on(w, last, half, diffusion)
            eliminate(w, n, width, inverse, lean, diffusion)
            first_stage(w, n)
            second_stage(w, n, width)
        _store(w, state, column, cells)
