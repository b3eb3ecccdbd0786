"""Edges, ends and thickness: against a sheet of two dimensions, and in the limits."""

import numba
import numpy as np
import pytest

from emcforecast.physics.section import exposure, section_gain, thickness_gain

LONG = 1e9


@numba.njit
def _coefficient(u: float) -> float:
    return np.exp(3.0 * (min(u, 0.28) - 0.12))


@numba.njit
def _time(cells: int, across: int, wide: float, biot: float, u0: float) -> float:
    """Time in which a quarter of a section dries from u0 to 0.20 in air of 0.13."""
    rest = 0.13
    dx, dy = 1.0 / cells, wide / across
    u = np.full((cells, across), u0)
    step = 0.12 * min(dx, dy) ** 2
    time = 0.0
    while u.mean() > 0.20:
        new = u.copy()
        for i in range(cells):
            for j in range(across):
                if i < cells - 1:
                    d = _coefficient(0.5 * (u[i, j] + u[i + 1, j]))
                    flow = step * d * (u[i + 1, j] - u[i, j]) / dx**2
                    new[i, j] += flow
                    new[i + 1, j] -= flow
                else:
                    d = _coefficient(0.5 * (u[i, j] + rest))
                    out = 1.0 / (0.5 * dx / d + 1.0 / biot)
                    new[i, j] += step * out * (rest - u[i, j]) / dx
                if across == 1:
                    continue
                if j < across - 1:
                    d = _coefficient(0.5 * (u[i, j] + u[i, j + 1]))
                    flow = step * d * (u[i, j + 1] - u[i, j]) / dy**2
                    new[i, j] += flow
                    new[i, j + 1] -= flow
                else:
                    d = _coefficient(0.5 * (u[i, j] + rest))
                    out = 1.0 / (0.5 * dy / d + 1.0 / biot)
                    new[i, j] += step * out * (rest - u[i, j]) / dy
        u = new
        time += step
    return time


@pytest.mark.parametrize("start", [0.45, 0.8])
@pytest.mark.parametrize("share", [0.18, 0.36, 0.6, 1.0])
def test_a_sheet_with_the_gain_dries_as_fast_as_the_section(
    share: float, start: float
) -> None:
    """Diffusion that grows with content, faces near the air's rest: within a tenth."""
    biot = 60.0
    whole = _time(20, max(int(20 / share), 20), 1.0 / share, biot, start)
    gain = float(section_gain(share, 1.0, LONG))
    sheet = _time(20, 1, 1.0, biot / gain, start) / gain
    assert sheet == pytest.approx(whole, rel=0.1)


def test_a_wide_long_board_is_a_sheet() -> None:
    assert float(section_gain(27.0, LONG, LONG)) == pytest.approx(1.0, abs=1e-6)


def test_edges_and_ends_only_help() -> None:
    widths = np.array([27.0, 50.0, 100.0, 200.0, 400.0])
    assert (np.diff(section_gain(27.0, widths, LONG)) < 0.0).all()
    lengths = np.array([100.0, 300.0, 1000.0, 3000.0])
    assert (np.diff(section_gain(90.0, 90.0, lengths)) < 0.0).all()


def test_a_cube_whose_grain_did_not_matter_would_dry_as_three_sheets() -> None:
    """By the slowest mode thrice as fast; somewhat faster, as the edges dry first."""
    grain = np.sqrt(12.5)
    assert 3.0 < float(section_gain(1.0, 1.0, grain)) < 4.0


def test_the_power_counts_above_inch_lumber_only() -> None:
    assert thickness_gain([0.010, 0.027], 0.48).tolist() == [1.0, 1.0]
    assert float(thickness_gain(0.108, 0.5)) == pytest.approx(2.0)
    assert float(thickness_gain(0.108, 0.0)) == 1.0


def test_the_ends_of_short_wood_meet_the_air() -> None:
    assert float(exposure(100.0, 400.0)) == pytest.approx(1.25)
