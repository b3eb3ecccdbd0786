"""Series in pieces against numpy over the whole, across the pieces' borders."""

import numpy as np
import pytest

from emcforecast.physics.pieces import PIECE, in_pieces, pieces_of


@pytest.mark.parametrize(
    ("shape", "axis"),
    [((3 * PIECE + 7,), -1), ((5, PIECE), 1), ((PIECE, 5), 0), ((2, 3, PIECE), -1)],
)
def test_every_value_is_worked_out_once_and_in_its_place(shape, axis):
    rng = np.random.default_rng(3)
    one, other = rng.normal(size=shape), rng.normal(size=shape)
    seen = []

    def hypotenuse(a, b):
        seen.append(a.size)
        return np.hypot(a, b)

    found = in_pieces(hypotenuse, one, other, axis=axis)
    np.testing.assert_allclose(found, np.hypot(one, other), rtol=1e-15)
    assert len(seen) > 1
    assert sum(seen) == one.size
    assert max(seen) <= PIECE


def test_pieces_of_a_wide_array_are_one_row_at_least():
    rows = list(pieces_of((4 * PIECE, 3), axis=1))
    assert [(r.start, r.stop) for r in rows] == [(0, 1), (1, 2), (2, 3)]
