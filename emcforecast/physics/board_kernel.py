"""The compiled board: many boards side by side, one implicit step an hour.

Everything lives in one flat workspace, one row of `LANES` boards after another,
at fixed offsets: the compiler then sees that no two rows overlap and turns every
inner loop into vector arithmetic. Unsigned indices spare it the wrap-around test.
"""

import numpy as np
from numpy.typing import NDArray

from emcforecast.physics.compiled import compiled

Array = NDArray[np.float64]
Index = NDArray[np.int64]

LANES = 64
"""Boards in a block."""
MAX_CELLS = 48
"""Most cells in half a board."""
AIR_COLUMNS = 8
"""Numbers kept for each hour of air: see `emcforecast.physics.board_air`."""
CORE = 1.0 / 3.0
"""Share of half the thickness, from the centre, that counts as core."""
GAMMA = 1.0 - 0.5**0.5
"""Diagonal coefficient of the two-stage, second-order, L-stable implicit step."""

_U = np.uint64
_N = _U(LANES)
_ONE = _U(1)
# An odd number of rows more than needed keeps equal rows out of one cache set.
_SPAN = (MAX_CELLS + 1) * LANES
# Fields by cell: content, content at mid-step, face conductance, inverse pivot,
# right-hand side.
_CONTENT = _U(0)
_MID = _U(_SPAN)
_FACE = _U(2 * _SPAN)
_PIVOT = _U(3 * _SPAN)
_RHS = _U(4 * _SPAN)
_ROWS = 5 * _SPAN
(
    _A_DIFFUSIVITY,
    _A_DENSITY,
    _A_HUMIDITY,
    _A_COOLING,
    _A_REST,
    _A_REST_Y,
    _A_TEMPERATURE,
    _A_RAIN,
    _KAPPA,
    _FILM_COEFFICIENT,
    _SURFACE_Y,
    _CONDUCTANCE,
    _TARGET,
    _FILM,
    _FILM_MOST,
    _FILM_SCALE,
    _GAIN,
    _SHELL,
    _SUM,
    _SUM_SHELL,
    _SUM_CORE,
) = (_U(_ROWS + LANES * k) for k in range(21))
WORKSPACE = _ROWS + LANES * 21
"""Length of one block's workspace."""
_FIRST_AIR = _U(_ROWS)

_AHEAD = (1.0 - GAMMA) / GAMMA
_TINY = 1e-300
_SMALL = 1e-12


@compiled(fused=True)
def _surface(
    w: Array, isotherm: Array, diffusion: Array, last: np.uint64, half: float
) -> None:
    """Conductance from the surface cell to the air, and the content it pulls to."""
    w0, w1, w2 = isotherm[0], isotherm[1], isotherm[2]
    k0, k1, k2 = isotherm[3], isotherm[4], isotherm[5]
    p0, p1, p2 = isotherm[6], isotherm[7], isotherm[8]
    q0, q1, q2 = isotherm[9], isotherm[10], isotherm[11]
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, d5, cap = diffusion[3], diffusion[4], diffusion[5], diffusion[6]
    cell = last * _N
    for b in range(_N):
        t = w[_A_TEMPERATURE + b]
        k = k0 + t * (k1 + t * k2)
        a = p0 + t * (p1 + t * p2)
        ab = a * (q0 + t * (q1 + t * q2))
        weight = (w0 + t * (w1 + t * w2)) / 18.0
        scale = 1.0 / weight
        c1, c2, n2 = 2.0 + a, 1.0 + a + ab, a + 2.0 * ab
        h = w[_A_HUMIDITY + b]
        rest = w[_A_REST + b]
        rest_y = w[_A_REST_Y + b]
        cooling = w[_A_COOLING + b]
        content = w[_MID + cell + b]
        film = w[_FILM_COEFFICIENT + b] * w[_A_DENSITY + b]
        y = w[_SURFACE_Y + b]
        most = k / (1.0 - k)
        # Half a cell of wood, at the content midway between cell and surface.
        at_surface = scale * (y + (a + n2 * y) * y / (1.0 + (c1 + c2 * y) * y))
        v = min(0.5 * (content + at_surface), cap)
        rate = w[_KAPPA + b] * w[_A_DIFFUSIVITY + b]
        w[_A_DIFFUSIVITY + b] = rate
        half_cell = (
            rate * (d0 + v * (d1 + v * (d2 + v * (d3 + v * (d4 + v * d5))))) * half
        )
        drive = half_cell * (content - rest)
        through = half_cell * scale
        dry = 1.0 - h * k
        e = k + cooling
        film_slope = film * (dry * k + h * k * e)
        for _ in range(3):
            den = 1.0 + (c1 + c2 * y) * y
            wet = k + e * y
            r = 1.0 / (den * wet)
            r_den, r_wet = r * wet, r * den
            num = (a + n2 * y) * y
            value = (
                through * (y + num * r_den - rest * weight)
                + film * (dry * y - h * k) * r_wet
            )
            slope = (
                through
                * (
                    1.0
                    + ((a + 2.0 * n2 * y) * den - num * (c1 + 2.0 * c2 * y))
                    * r_den
                    * r_den
                )
                + film_slope * r_wet * r_wet
            )
            y = min(max(y + (drive - value) / slope, 0.0), most)
        den = 1.0 + (c1 + c2 * y) * y
        den_rest = 1.0 + (c1 + c2 * rest_y) * rest_y
        bend = a + n2 * (y + rest_y) + (n2 * c1 - a * c2) * y * rest_y
        wet = k + e * y
        r = 1.0 / (den * den_rest * wet)
        inner = through * (1.0 + bend * (r * wet))
        outer = film * dry * (r * den * den_rest)
        series = half_cell * outer / (inner + outer + _TINY)
        free = film * max(1.0 - h, 0.0) / (1.0 + cooling) + _TINY
        w[_SURFACE_Y + b] = y
        w[_CONDUCTANCE + b] = min(series, free / max(content - rest, _TINY))
        w[_TARGET + b] = rest


@compiled(fused=True)
def _rained_on(w: Array, last: np.uint64, half: float, diffusion: Array) -> None:
    """Let the film take rain and give vapour; hold a wet surface at saturation."""
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, d5, cap = diffusion[3], diffusion[4], diffusion[5], diffusion[6]
    cell = last * _N
    wet_d = d0 + cap * (d1 + cap * (d2 + cap * (d3 + cap * (d4 + cap * d5))))
    for b in range(_N):
        film = w[_FILM + b] + w[_A_RAIN + b]
        film = min(film, w[_FILM_MOST + b])
        free = (
            w[_FILM_COEFFICIENT + b]
            * w[_A_DENSITY + b]
            * max(1.0 - w[_A_HUMIDITY + b], 0.0)
            / (1.0 + w[_A_COOLING + b])
        )
        loss = w[_FILM_SCALE + b] * free
        share = min(film / (loss + _TINY), 1.0)
        w[_FILM + b] = max(film - share * loss, 0.0)
        content = w[_MID + cell + b]
        soak = w[_A_DIFFUSIVITY + b] * wet_d * half
        # Wood wetter than the film's own wood neither gains nor loses beneath it.
        soak = share * (soak if content < cap else 0.0)
        dry = (1.0 - share) * w[_CONDUCTANCE + b]
        total = soak + dry
        w[_TARGET + b] = (soak * cap + dry * w[_TARGET + b]) / (total + _TINY)
        w[_CONDUCTANCE + b] = total


@compiled(fused=True)
def _eliminate(
    w: Array,
    cells: np.uint64,
    width: Array,
    inverse: Array,
    lean: Array,
    diffusion: Array,
) -> None:
    """Face conductances, pivots and the first stage's forward sweep."""
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, d5, cap = diffusion[3], diffusion[4], diffusion[5], diffusion[6]
    zero = _U(0)
    s, out, far = width[zero], inverse[zero], lean[zero]
    near = 1.0 - far
    for b in range(_N):
        v = min(near * w[_MID + b] + far * w[_MID + _N + b], cap)
        g = (
            w[_A_DIFFUSIVITY + b]
            * (d0 + v * (d1 + v * (d2 + v * (d3 + v * (d4 + v * d5)))))
            * out
        )
        pivot = 1.0 / (s + g)
        w[_FACE + b] = g
        w[_PIVOT + b] = pivot
        w[_RHS + b] = s * w[_CONTENT + b] * pivot
    for i in range(_ONE, cells - _ONE):
        c = i * _N
        below = c - _N
        above = c + _N
        s, out, far = width[i], inverse[i], lean[i]
        near = 1.0 - far
        for b in range(_N):
            v = min(near * w[_MID + c + b] + far * w[_MID + above + b], cap)
            g = (
                w[_A_DIFFUSIVITY + b]
                * (d0 + v * (d1 + v * (d2 + v * (d3 + v * (d4 + v * d5)))))
                * out
            )
            inner = w[_FACE + below + b]
            pivot = 1.0 / (s + g + inner * (1.0 - inner * w[_PIVOT + below + b]))
            w[_FACE + c + b] = g
            w[_PIVOT + c + b] = pivot
            w[_RHS + c + b] = (
                s * w[_CONTENT + c + b] + inner * w[_RHS + below + b]
            ) * pivot
    last = cells - _ONE
    c = last * _N
    below = c - _N
    s = width[last]
    for b in range(_N):
        g = w[_CONDUCTANCE + b]
        inner = w[_FACE + below + b]
        pivot = 1.0 / (s + g + inner * (1.0 - inner * w[_PIVOT + below + b]))
        w[_PIVOT + c + b] = pivot
        x = (
            s * w[_CONTENT + c + b] + inner * w[_RHS + below + b] + g * w[_TARGET + b]
        ) * pivot
        w[_RHS + c + b] = x
        w[_GAIN + b] += (1.0 - GAMMA) / GAMMA * g * (w[_TARGET + b] - x)


@compiled(fused=True)
def _first_stage(w: Array, cells: np.uint64) -> None:
    """Back substitution of the first stage."""
    for j in range(_ONE, cells):
        c = (cells - _ONE - j) * _N
        above = c + _N
        for b in range(_N):
            w[_RHS + c + b] += (
                w[_FACE + c + b] * w[_PIVOT + c + b] * w[_RHS + above + b]
            )


@compiled(fused=True)
def _second_stage(w: Array, cells: np.uint64, width: Array) -> None:
    """Forward and back substitution of the second stage; the new content."""
    s = width[_U(0)]
    for b in range(_N):
        u = w[_CONTENT + b]
        w[_RHS + b] = s * (u + _AHEAD * (w[_RHS + b] - u)) * w[_PIVOT + b]
    for i in range(_ONE, cells - _ONE):
        c = i * _N
        below = c - _N
        s = width[i]
        for b in range(_N):
            u = w[_CONTENT + c + b]
            w[_RHS + c + b] = (
                s * (u + _AHEAD * (w[_RHS + c + b] - u))
                + w[_FACE + below + b] * w[_RHS + below + b]
            ) * w[_PIVOT + c + b]
    last = cells - _ONE
    c = last * _N
    below = c - _N
    s = width[last]
    for b in range(_N):
        u = w[_CONTENT + c + b]
        g = w[_CONDUCTANCE + b]
        x = (
            s * (u + _AHEAD * (w[_RHS + c + b] - u))
            + w[_FACE + below + b] * w[_RHS + below + b]
            + g * w[_TARGET + b]
        ) * w[_PIVOT + c + b]
        w[_GAIN + b] += g * (w[_TARGET + b] - x)
        w[_CONTENT + c + b] = x
        w[_MID + c + b] = max(1.5 * x - 0.5 * u, 0.0)
    for j in range(_ONE, cells):
        c = (cells - _ONE - j) * _N
        above = c + _N
        for b in range(_N):
            u = w[_CONTENT + c + b]
            x = w[_RHS + c + b] + (
                w[_FACE + c + b] * w[_PIVOT + c + b] * w[_CONTENT + above + b]
            )
            w[_CONTENT + c + b] = x
            w[_MID + c + b] = max(1.5 * x - 0.5 * u, 0.0)


@compiled()
def _fetch_air(
    w: Array,
    air: Array,
    hours: np.int64,
    wrap: bool,
    place: Index,
    hour: Index,
) -> bool:
    """Copy each lane's hour of air into the workspace; tell whether any is wet."""
    wet = False
    for b in range(LANES):
        h = hour[b]
        if h >= hours and wrap:
            h -= hours
        hour[b] = h + 1
        inside = h < hours
        row = _U((place[b] * hours + (h if inside else 0)) * AIR_COLUMNS)
        lane = _U(b)
        for k in range(_U(AIR_COLUMNS)):
            w[_FIRST_AIR + k * _N + lane] = air[row + k]
        if not inside:
            w[_A_REST + lane] = np.nan
        wet |= w[_A_RAIN + lane] > 0.0 or w[_FILM + lane] > 0.0
    return wet


@compiled(fused=True)
def _summarise(w: Array, cells: np.uint64, width: Array, outer: Array) -> None:
    """Mean, shell and core of every lane."""
    for b in range(_N):
        w[_SUM + b] = 0.0
        w[_SUM_SHELL + b] = 0.0
        w[_SUM_CORE + b] = 0.0
    for i in range(cells):
        c = i * _N
        s, right = width[i], outer[i]
        core = max(min(right, CORE) - (right - s), 0.0) / CORE
        for b in range(_N):
            u = w[_CONTENT + c + b]
            shell = w[_SHELL + b]
            part = min(max(right - (1.0 - shell), 0.0), s) / shell
            w[_SUM + b] += s * u
            w[_SUM_SHELL + b] += part * u
            w[_SUM_CORE + b] += core * u


@compiled()
def run_blocks(
    first: int,
    stop: int,
    steps: int,
    every: int,
    air: Array,
    hours: int,
    wrap: bool,
    start: Index,
    leg_air: Index,
    leg_step: Index,
    leg_film: Array,
    leg_most: Array,
    board: Array,
    grid: Array,
    isotherm: Array,
    diffusion: Array,
    state: Array,
    out: Array,
) -> None:
    """Advance blocks of boards; every array's last axis is boards, padded.

    Parameters
    ----------
    first, stop : int
        Blocks to run.
    steps, every : int
        Steps to take, and steps between two records.
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
        Film coefficient (GAMMA Δt β / (ρ L), m³/kg) and the most rain the surface
        keeps (kg/m²).
    board : ndarray, shape (3, boards)
        GAMMA Δt f D12 / L², the shell's share of half the thickness, and ρ L /
        GAMMA (kg/m²).
    grid : ndarray, shape (4, cells)
        Width, inverse distance to the next centre (in the last place, of the last
        centre to the surface), weight of the next cell at the face, outer edge.
    isotherm, diffusion : ndarray, shape (12,), (7,)
        See `emcforecast.physics.board_air`.
    state : ndarray, shape (2 cells + 3, boards)
        Content by cell, content extrapolated half a step by cell, surface variable,
        film (kg/m²), content gained through the surface. Changed in place.
    out : ndarray, shape (records, 3, boards)
        Mean, shell and core at the start and after every `every` steps.
    """
    w = np.empty(WORKSPACE)
    place = np.empty(LANES, np.int64)
    hour = np.empty(LANES, np.int64)
    leg = np.empty(LANES, np.int64)
    cells = grid.shape[1]
    n = _U(cells)
    last = n - _ONE
    width, inverse, lean, outer = grid[0], grid[1], grid[2], grid[3]
    half = inverse[last]
    legs = leg_step.shape[0]
    for block in range(first, stop):
        column = block * LANES
        for b in range(LANES):
            lane, at = _U(b), column + b
            place[b] = leg_air[0, at]
            hour[b] = start[at]
            leg[b] = 0
            w[_KAPPA + lane] = board[0, at]
            w[_SHELL + lane] = board[1, at]
            w[_FILM_SCALE + lane] = board[2, at]
            w[_FILM_COEFFICIENT + lane] = leg_film[0, at]
            w[_FILM_MOST + lane] = leg_most[0, at]
            for i in range(cells):
                w[_CONTENT + _U(i) * _N + lane] = state[i, at]
                w[_MID + _U(i) * _N + lane] = state[cells + i, at]
            w[_SURFACE_Y + lane] = state[2 * cells, at]
            w[_FILM + lane] = state[2 * cells + 1, at]
            w[_GAIN + lane] = state[2 * cells + 2, at]
        record = 0
        for step in range(steps + 1):
            if step % every == 0:
                _summarise(w, n, width, outer)
                for b in range(LANES):
                    lane, at = _U(b), column + b
                    out[record, 0, at] = w[_SUM + lane]
                    out[record, 1, at] = w[_SUM_SHELL + lane]
                    out[record, 2, at] = w[_SUM_CORE + lane]
                record += 1
            if step == steps:
                break
            if legs > 1:
                for b in range(LANES):
                    k, lane, at = leg[b] + 1, _U(b), column + b
                    while k < legs and leg_step[k, at] <= step:
                        leg[b] = k
                        place[b] = leg_air[k, at]
                        w[_FILM_COEFFICIENT + lane] = leg_film[k, at]
                        w[_FILM_MOST + lane] = leg_most[k, at]
                        k += 1
            wet = _fetch_air(w, air, hours, wrap, place, hour)
            _surface(w, isotherm, diffusion, last, half)
            if wet:
                _rained_on(w, last, half, diffusion)
            _eliminate(w, n, width, inverse, lean, diffusion)
            _first_stage(w, n)
            _second_stage(w, n, width)
        for b in range(LANES):
            lane, at = _U(b), column + b
            for i in range(cells):
                state[i, at] = w[_CONTENT + _U(i) * _N + lane]
                state[cells + i, at] = w[_MID + _U(i) * _N + lane]
            state[2 * cells, at] = w[_SURFACE_Y + lane]
            state[2 * cells + 1, at] = w[_FILM + lane]
            state[2 * cells + 2, at] = w[_GAIN + lane]
