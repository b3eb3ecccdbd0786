"""Moisture through the board: two implicit stages of one step, all lanes at once.

The matrix is the same in both stages: it is eliminated once, from the centre to the
surface, and each stage substitutes back.
"""

import numpy as np
from numpy.typing import NDArray

from emcforecast.physics.board_layout import (
    A_DIFFUSIVITY,
    AHEAD,
    CONDUCTANCE,
    CONTENT,
    FACE,
    GAIN,
    GAMMA,
    MID,
    ONE,
    PIVOT,
    RHS,
    TARGET,
    N,
    U,
)
from emcforecast.physics.compiled import compiled

Array = NDArray[np.float64]


@compiled(fused=True)
def eliminate(
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
    zero = U(0)
    s, out, far = width[zero], inverse[zero], lean[zero]
    near = 1.0 - far
    for b in range(N):
        v = min(near * w[MID + b] + far * w[MID + N + b], cap)
        g = (
            w[A_DIFFUSIVITY + b]
            * (d0 + v * (d1 + v * (d2 + v * (d3 + v * (d4 + v * d5)))))
            * out
        )
        pivot = 1.0 / (s + g)
        w[FACE + b] = g
        w[PIVOT + b] = pivot
        w[RHS + b] = s * w[CONTENT + b] * pivot
    for i in range(ONE, cells - ONE):
        c = i * N
        below = c - N
        above = c + N
        s, out, far = width[i], inverse[i], lean[i]
        near = 1.0 - far
        for b in range(N):
            v = min(near * w[MID + c + b] + far * w[MID + above + b], cap)
            g = (
                w[A_DIFFUSIVITY + b]
                * (d0 + v * (d1 + v * (d2 + v * (d3 + v * (d4 + v * d5)))))
                * out
            )
            inner = w[FACE + below + b]
            pivot = 1.0 / (s + g + inner * (1.0 - inner * w[PIVOT + below + b]))
            w[FACE + c + b] = g
            w[PIVOT + c + b] = pivot
            w[RHS + c + b] = (
                s * w[CONTENT + c + b] + inner * w[RHS + below + b]
            ) * pivot
    last = cells - ONE
    c = last * N
    below = c - N
    s = width[last]
    for b in range(N):
        g = w[CONDUCTANCE + b]
        inner = w[FACE + below + b]
        pivot = 1.0 / (s + g + inner * (1.0 - inner * w[PIVOT + below + b]))
        w[PIVOT + c + b] = pivot
        x = (
            s * w[CONTENT + c + b] + inner * w[RHS + below + b] + g * w[TARGET + b]
        ) * pivot
        w[RHS + c + b] = x
        w[GAIN + b] += (1.0 - GAMMA) / GAMMA * g * (w[TARGET + b] - x)


@compiled(fused=True)
def first_stage(w: Array, cells: np.uint64) -> None:
    """Back substitution of the first stage."""
    for j in range(ONE, cells):
        c = (cells - ONE - j) * N
        above = c + N
        for b in range(N):
            w[RHS + c + b] += w[FACE + c + b] * w[PIVOT + c + b] * w[RHS + above + b]


@compiled(fused=True)
def second_stage(w: Array, cells: np.uint64, width: Array) -> None:
    """Forward and back substitution of the second stage; the new content."""
    s = width[U(0)]
    for b in range(N):
        u = w[CONTENT + b]
        w[RHS + b] = s * (u + AHEAD * (w[RHS + b] - u)) * w[PIVOT + b]
    for i in range(ONE, cells - ONE):
        c = i * N
        below = c - N
        s = width[i]
        for b in range(N):
            u = w[CONTENT + c + b]
            w[RHS + c + b] = (
                s * (u + AHEAD * (w[RHS + c + b] - u))
                + w[FACE + below + b] * w[RHS + below + b]
            ) * w[PIVOT + c + b]
    last = cells - ONE
    c = last * N
    below = c - N
    s = width[last]
    for b in range(N):
        u = w[CONTENT + c + b]
        g = w[CONDUCTANCE + b]
        x = (
            s * (u + AHEAD * (w[RHS + c + b] - u))
            + w[FACE + below + b] * w[RHS + below + b]
            + g * w[TARGET + b]
        ) * w[PIVOT + c + b]
        w[GAIN + b] += g * (w[TARGET + b] - x)
        w[CONTENT + c + b] = x
        w[MID + c + b] = max(1.5 * x - 0.5 * u, 0.0)
    for j in range(ONE, cells):
        c = (cells - ONE - j) * N
        above = c + N
        for b in range(N):
            u = w[CONTENT + c + b]
            x = w[RHS + c + b] + (
                w[FACE + c + b] * w[PIVOT + c + b] * w[CONTENT + above + b]
            )
            w[CONTENT + c + b] = x
            w[MID + c + b] = max(1.5 * x - 0.5 * u, 0.0)
