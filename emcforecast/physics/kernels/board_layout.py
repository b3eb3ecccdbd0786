"""Where everything of the compiled board lies: one flat workspace, row after row.

Each row holds one number of `LANES` boards. The rows lie at fixed offsets: the
compiler then sees that no two overlap and turns every inner loop into vector
arithmetic. Unsigned indices spare it the wrap-around test.
"""

import numpy as np

LANES = 32
"""Boards in a block."""
LINE = 8
"""Numbers in a cache line."""
MAX_CELLS = 48
"""Most cells in half a board."""
AIR_COLUMNS = 8
"""Numbers kept for each hour of air: see `emcforecast.physics.air_table`."""
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
) = (U(ROWS + LANES * k) for k in range(21))
WORKSPACE = ROWS + LANES * 21
"""Length of one block's workspace."""
FIRST_AIR = U(ROWS)

AHEAD = (1.0 - GAMMA) / GAMMA
TINY = 1e-200
