"""Moisture through the board: two implicit stages of one step, all lanes at once.

The matrix is the same in both stages: it is eliminated once, from the centre to the
surface, and each stage substitutes back.
"""

import numpy as np
from numpy.typing import NDArray

from emcforecast.physics.board_layout import (
    A_DIFFUSIVITY,
    AHEAD,
    CARRY,
    CONDUCTANCE,
    CONTENT,
    FORWARD,
    GAIN,
    MID,
    ONE,
    PIVOT,
    RATIO,
    RHS,
    TARGET,
    N,
    U,
)
from emcforecast.physics.compiled import compiled

Array = NDArray[np.float64]


TWO = U(2)


@compiled(fused=True)
def eliminate(
    w: Array,
    cells: np.uint64,
    width: Array,
    inverse: Array,
    lean: Array,
    diffusion: Array,
) -> None:
    """Face conductances, the factors of the matrix and the first forward sweep.

    Notes
    -----
    The symmetric matrix of s_i + g_{i-1} + g_i and -g_i is L D Lᵀ with the ratios
    r_i = g_i/D_i: D_i = s_i + g_i + c_{i-1}, c_i = r_i (s_i + c_{i-1}), all positive.
    Forward y_i = b_i + r_{i-1} y_{i-1}, back x_i = y_i/D_i + r_i x_{i+1}.
    """
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, d5, cap = diffusion[3], diffusion[4], diffusion[5], diffusion[6]
    for b in range(N):
        w[CARRY + b] = 0.0
        w[FORWARD + b] = 0.0
    last = cells - ONE
    for i in range(last):
        c = i * N
        above = c + N
        s, out, far, near = width[i], inverse[i], lean[i], 1.0 - lean[i]
        e0, e1, e2, e3, e4, e5 = (
            *(d0 * out, d1 * out, d2 * out),
            *(d3 * out, d4 * out, d5 * out),
        )
        for b in range(N):
            v = min(near * w[MID + c + b] + far * w[MID + above + b], cap)
            g = w[A_DIFFUSIVITY + b] * (
                e0 + v * (e1 + v * (e2 + v * (e3 + v * (e4 + v * e5))))
            )
            held = s + w[CARRY + b]
            pivot = 1.0 / (held + g)
            ratio = g * pivot
            y = s * w[CONTENT + c + b] + w[FORWARD + b]
            w[CARRY + b] = ratio * held
            w[FORWARD + b] = ratio * y
            w[RATIO + c + b] = ratio
            w[PIVOT + c + b] = pivot
            w[RHS + c + b] = y
    c = last * N
    s = width[last]
    for b in range(N):
        g = w[CONDUCTANCE + b]
        gap = w[TARGET + b]
        pivot = 1.0 / (s + g + w[CARRY + b])
        w[PIVOT + c + b] = pivot
        x = (s * w[CONTENT + c + b] + w[FORWARD + b] + g * gap) * pivot
        w[RHS + c + b] = x
        w[GAIN + b] += AHEAD * g * (gap - x)


@compiled(fused=True)
def first_stage(w: Array, cells: np.uint64) -> None:
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


@compiled(fused=True)
def second_stage(w: Array, cells: np.uint64, width: Array) -> None:
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
