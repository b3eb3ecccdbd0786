"""Moisture through the board: two implicit stages of one step, all lanes at once.

The matrix is the same in both stages: it is eliminated once, from the centre to the
surface, and each stage substitutes back.
"""

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.physics.kernels.compiled import compiled

LANES = 32
"""Boards in a block."""
LINE = 8
"""Numbers in a cache line."""
MAX_CELLS = 48
"""Most cells in half a board."""
AIR_COLUMNS = 8
"""Numbers kept for each hour of air: see `emcforecast.physics.boards`."""
CORE = 1.0 / 3.0
"""Share of half the thickness, from the centre, that counts as core."""
GAMMA = 1.0 - 0.5**0.5
"""Diagonal coefficient of the two-stage, second-order, L-stable implicit step."""

U = np.uint64
N = U(LANES)
ONE = U(1)
# An odd number of rows more than needed keeps equal rows out of one cache set.
SPAN = (MAX_CELLS + 1) * LANES
# Fields by cell: content, content at mid-step, factor of the matrix, inverse pivot,
# right-hand side, what a cell hands to the next. The compiler tells written rows from
# read ones by ranges: fields that one loop writes lie together, after those it reads.
CONTENT = U(0)
MID = U(SPAN)
RATIO = U(2 * SPAN)
PIVOT = U(3 * SPAN)
RHS = U(4 * SPAN)
CARRY = U(5 * SPAN)
ROWS = 6 * SPAN
(
    A_DIFFUSIVITY,
    A_DENSITY,
    A_HUMIDITY,
    A_COOLING,
    A_REST,
    A_REST_Y,
    A_TEMPERATURE,
    A_RAIN,
    KAPPA,
    FILM_COEFFICIENT,
    SURFACE_Y,
    CONDUCTANCE,
    TARGET,
    FILM,
    FILM_MOST,
    FILM_SCALE,
    GAIN,
    SHELL,
    SUM,
    SUM_SHELL,
    SUM_CORE,
    GREEN,
) = (U(ROWS + LANES * k) for k in range(22))
WORKSPACE = ROWS + LANES * 22
"""Length of one block's workspace."""
FIRST_AIR = U(ROWS)

AHEAD = (1.0 - GAMMA) / GAMMA
TINY = 1e-200


TWO = U(2)


@compiled(inline=True, fused=True)
def eliminate(
    w: FloatArray,
    cells: np.uint64,
    width: FloatArray,
    inverse: FloatArray,
    lean: FloatArray,
    diffusion: FloatArray,
) -> None:
    """Face conductances, the factors of the matrix and the first forward sweep.

    Notes
    -----
    The symmetric matrix of s_i + g_{i-1} + g_i and -g_i is L D Lᵀ with the ratios
    r_i = g_i/D_i: D_i = s_i + g_i + c_{i-1}, c_i = r_i (s_i + c_{i-1}), all positive.
    Forward y_i = b_i + r_{i-1} y_{i-1}, back x_i = y_i/D_i + r_i x_{i+1}.
    """
    d0, d1, d2, d3, d4 = (
        *(diffusion[0], diffusion[1], diffusion[2]),
        *(diffusion[3], diffusion[4]),
    )
    cap, steep = diffusion[5], diffusion[6]
    last = cells - ONE
    zero = U(0)
    s, out, far = width[zero], inverse[zero], lean[zero]
    near = 1.0 - far
    for b in range(N):
        u = near * w[MID + b] + far * w[MID + N + b]
        v = min(u, cap)
        g = w[A_DIFFUSIVITY + b] * out
        green = w[GREEN + b] * min((u - v) * steep, 1.0)
        g *= green + d0 + v * (d1 + v * (d2 + v * (d3 + v * d4)))
        pivot = 1.0 / (s + g)
        ratio = g * pivot
        y = s * w[CONTENT + b]
        w[CARRY + b] = ratio * s
        w[RATIO + b] = ratio
        w[PIVOT + b] = pivot
        w[RHS + b] = y
    # Two cells a turn, so that what one hands to the next stays in registers.
    for i in range(ONE, last, TWO):
        j = i + ONE
        c = i * N
        below, next_, above = c - N, c + N, c + N + N
        s, out, far, near = width[i], inverse[i], lean[i], 1.0 - lean[i]
        out_1 = out
        a0, a1, a2, a3, a4 = d0 * out, d1 * out, d2 * out, d3 * out, d4 * out
        s_2, out, far_2, near_2 = width[j], inverse[j], lean[j], 1.0 - lean[j]
        b0, b1, b2, b3, b4 = d0 * out, d1 * out, d2 * out, d3 * out, d4 * out
        for b in range(N):
            rate = w[A_DIFFUSIVITY + b]
            middle = w[MID + next_ + b]
            more = w[GREEN + b]
            u = near * w[MID + c + b] + far * middle
            v = min(u, cap)
            green = out_1 * more * min((u - v) * steep, 1.0)
            g = rate * (green + a0 + v * (a1 + v * (a2 + v * (a3 + v * a4))))
            held = s + w[CARRY + below + b]
            pivot = 1.0 / (held + g)
            ratio = g * pivot
            y = s * w[CONTENT + c + b] + w[RATIO + below + b] * w[RHS + below + b]
            w[RATIO + c + b] = ratio
            w[PIVOT + c + b] = pivot
            w[RHS + c + b] = y
            u = near_2 * middle + far_2 * w[MID + above + b]
            v = min(u, cap)
            green = out * more * min((u - v) * steep, 1.0)
            g = rate * (green + b0 + v * (b1 + v * (b2 + v * (b3 + v * b4))))
            held = s_2 + ratio * held
            y = s_2 * w[CONTENT + next_ + b] + ratio * y
            pivot = 1.0 / (held + g)
            ratio = g * pivot
            w[CARRY + next_ + b] = ratio * held
            w[RATIO + next_ + b] = ratio
            w[PIVOT + next_ + b] = pivot
            w[RHS + next_ + b] = y
    c = last * N
    below = c - N
    s = width[last]
    for b in range(N):
        g = w[CONDUCTANCE + b]
        gap = w[TARGET + b]
        pivot = 1.0 / (s + g + w[CARRY + below + b])
        w[PIVOT + c + b] = pivot
        y = s * w[CONTENT + c + b] + w[RATIO + below + b] * w[RHS + below + b]
        x = (y + g * gap) * pivot
        w[RHS + c + b] = x
        w[GAIN + b] += AHEAD * g * (gap - x)


@compiled(inline=True, fused=True)
def first_stage(w: FloatArray, cells: np.uint64) -> None:
    """Back substitution of the first stage."""
    for j in range(ONE, cells - ONE, TWO):
        c = (cells - ONE - j) * N
        below, above = c - N, c + N
        for b in range(N):
            x = (
                w[RHS + c + b] * w[PIVOT + c + b]
                + w[RATIO + c + b] * w[RHS + above + b]
            )
            w[RHS + c + b] = x
            w[RHS + below + b] = (
                w[RHS + below + b] * w[PIVOT + below + b] + w[RATIO + below + b] * x
            )
    for b in range(N):
        w[RHS + b] = w[RHS + b] * w[PIVOT + b] + w[RATIO + b] * w[RHS + N + b]


@compiled(inline=True, fused=True)
def second_stage(w: FloatArray, cells: np.uint64, width: FloatArray) -> None:
    """Forward and back substitution of the second stage; the new content."""
    old, new = width[U(0)] * (1.0 - AHEAD), width[U(0)] * AHEAD
    for b in range(N):
        w[RHS + b] = new * w[RHS + b] + old * w[CONTENT + b]
    for i in range(ONE, cells - ONE, TWO):
        c = i * N
        below, above = c - N, c + N
        old_1, new_1 = width[i] * (1.0 - AHEAD), width[i] * AHEAD
        old_2, new_2 = width[i + ONE] * (1.0 - AHEAD), width[i + ONE] * AHEAD
        for b in range(N):
            y = (
                new_1 * w[RHS + c + b]
                + old_1 * w[CONTENT + c + b]
                + w[RATIO + below + b] * w[RHS + below + b]
            )
            w[RHS + c + b] = y
            w[RHS + above + b] = (
                new_2 * w[RHS + above + b]
                + old_2 * w[CONTENT + above + b]
                + w[RATIO + c + b] * y
            )
    last = cells - ONE
    c = last * N
    below = c - N
    old, new = width[last] * (1.0 - AHEAD), width[last] * AHEAD
    for b in range(N):
        u = w[CONTENT + c + b]
        g = w[CONDUCTANCE + b]
        x = (
            new * w[RHS + c + b]
            + old * u
            + w[RATIO + below + b] * w[RHS + below + b]
            + g * w[TARGET + b]
        ) * w[PIVOT + c + b]
        w[GAIN + b] += g * (w[TARGET + b] - x)
        w[CONTENT + c + b] = x
        w[MID + c + b] = 1.5 * x - 0.5 * u
    for j in range(ONE, cells - ONE, TWO):
        c = (cells - ONE - j) * N
        below, above = c - N, c + N
        for b in range(N):
            u = w[CONTENT + c + b]
            x = (
                w[RHS + c + b] * w[PIVOT + c + b]
                + w[RATIO + c + b] * w[CONTENT + above + b]
            )
            w[CONTENT + c + b] = x
            w[MID + c + b] = 1.5 * x - 0.5 * u
            u = w[CONTENT + below + b]
            x = w[RHS + below + b] * w[PIVOT + below + b] + w[RATIO + below + b] * x
            w[CONTENT + below + b] = x
            w[MID + below + b] = 1.5 * x - 0.5 * u
    for b in range(N):
        u = w[CONTENT + b]
        x = w[RHS + b] * w[PIVOT + b] + w[RATIO + b] * w[CONTENT + N + b]
        w[CONTENT + b] = x
        w[MID + b] = 1.5 * x - 0.5 * u
