"""Diffusion coefficient, its polynomial, evaporative cooling and the grid.

METHOD section 5 gives the coefficient at six specific gravities (Stamm and Siau, from
memory) and the cooling factor at four temperatures, to the digits checked here.
"""

import numpy as np
import pytest

from emcforecast.physics.boards import (
    advance,
    air_table,
    evaporative_cooling,
    fresh_state,
)
from emcforecast.physics.diffusion import (
    content_factor,
    content_polynomial,
    half_grid,
    temperature_factor,
    transverse_coefficient,
)
from emcforecast.physics.kernels.board_diffusion import LANES
from emcforecast.physics.stack_air import stack_transfer


@pytest.mark.parametrize(
    ("gravity", "printed"),
    [
        (0.35, 9.99),
        (0.40, 7.55),
        (0.45, 5.89),
        (0.50, 4.70),
        (0.55, 3.83),
        (0.60, 3.17),
    ],
)
def test_coefficient_by_gravity(gravity: float, printed: float) -> None:
    found = float(transverse_coefficient(gravity)) * 1e11
    assert found == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(
    ("temperature", "printed"), [(0.0, 0.58), (10.0, 0.43), (20.0, 0.30), (30.0, 0.20)]
)
def test_cooling_factor(temperature: float, printed: float) -> None:
    factor = 1.0 / (1.0 + float(evaporative_cooling(temperature)))
    assert factor == pytest.approx(printed, abs=0.0051)  # printed to two places


def test_warmth_about_doubles_it_from_20_to_35() -> None:
    """E = 5000 K close to red oak's published 5280 K (METHOD section 5)."""
    found = float(temperature_factor(35.0))
    assert found == pytest.approx(np.exp(5280 * (1 / 293.15 - 1 / 308.15)), rel=0.06)


@pytest.mark.parametrize("slope", [0.5, 1.0, 3.0])
def test_the_kernel_s_polynomial_is_the_exponential(slope: float) -> None:
    u = np.linspace(0.0, 0.28, 400)
    *powers, highest, steepness = content_polynomial(slope)
    found = np.polynomial.polynomial.polyval(u, powers)
    np.testing.assert_allclose(found, np.exp(slope * (u - 0.12)), rtol=1e-5)
    # It goes over to green wood's own in a straight line from 28 to 48 %.
    assert (highest, 1.0 / steepness) == pytest.approx((0.28, 0.2))
    assert content_polynomial(0.0) == (1.0, 0.0, 0.0, 0.0, 0.0, 0.28, steepness)
    assert float(content_factor(0.9)) == pytest.approx(np.exp(3.0 * 0.16))


@pytest.mark.parametrize(("cells", "grading"), [(16, 0.2), (24, 0.1), (40, 1.0)])
def test_the_grid_is_exact_for_a_parabola(cells: int, grading: float) -> None:
    width, inverse, lean, edge = half_grid(cells, grading)
    assert width.sum() == pytest.approx(1.0, abs=1e-14)
    assert width[-1] / width[0] == pytest.approx(grading)
    inner = edge - width
    mean = (edge**3 - inner**3) / (3.0 * width)
    np.testing.assert_allclose(np.diff(mean) * inverse[:-1], 2.0 * edge[:-1])
    assert (1.0 - mean[-1]) * inverse[-1] == pytest.approx(2.0)
    assert np.all((lean[:-1] > 0.0) & (lean[:-1] < 1.0))


def test_air_table_columns() -> None:
    table = air_table([20.0, -10.0], [50.0, 120.0], [0.0, 2.0])
    assert table.shape == (2, 8)
    # 23.39 hPa at 20 °C (steam tables) over R_v T; the formula is within 0.35 %
    assert table[0, 1] == pytest.approx(2339.0 / (461.5 * 293.15), rel=3.5e-3)
    assert table[0, 4] == pytest.approx(0.0925, abs=0.001)  # Wood Handbook 4-2: 9.2
    assert table[1, 2] == 1.0
    assert table[1, 6] == -1.1
    assert table[1, 7] == 2.0


@pytest.mark.parametrize(
    ("speed", "printed"),
    [(0.05, 0.46), (0.1, 0.90), (0.2, 1.6), (0.3, 2.2), (0.5, 3.2), (1.0, 5.2)],
)
def test_transfer_through_a_stack(speed: float, printed: float) -> None:
    """METHOD section 5, 22 mm stickers and 1.2 m of stack, two digits printed."""
    assert float(stack_transfer(speed)) * 1e3 == pytest.approx(printed, rel=0.025)


def test_a_long_stack_gives_what_its_air_can_carry() -> None:
    assert float(stack_transfer(0.1, 0.022, 50.0)) == pytest.approx(
        0.1 * 0.022 / (2.0 * 50.0), rel=1e-6
    )


@pytest.mark.parametrize("boards", [1, LANES - 1, LANES, 2 * LANES])
def test_the_state_given_is_left_as_it_is(boards: int) -> None:
    """Whether or not the last block of boards is full."""
    air = air_table(np.full(48, 20.0), np.full(48, 40.0))
    given = fresh_state(0.3, boards)
    kept = given.copy()
    run = advance(
        air[None], steps=48, air_index=0, start_hour=0, thickness_m=0.027,
        diffusivity=2e-11, density=560.0, surface_transfer=1e-3, state=given,
    )  # fmt: skip
    assert np.array_equal(given, kept)
    assert run.mean[-1, 0] < run.mean[0, 0]
