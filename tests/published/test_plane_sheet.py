"""The shipped kernel against Crank's plane sheet with surface resistance.

Source: Crank, The Mathematics of Diffusion (1975), section 4.3.6: the series over the
roots of b tan b = Bi, worked out to eight digits (`crank_plane_sheet.csv`); a few
of its values are summed again here from the series itself.
"""

import csv
from pathlib import Path

import numpy as np
import pytest
from outside import PublishedCheck, Record

from emcforecast.physics.boards import advance, fresh_state

SOURCE = PublishedCheck(
    what=(
        "drying of a plane sheet with surface resistance: the board kernel with "
        "linear laws"
    ),
    source=(
        "Crank, The Mathematics of Diffusion (1975), section 4.3.6, the series summed "
        "to eight digits"
    ),
    provenance="memory",
    kind="foretold",
    tolerance="0.1 % of the whole change with the usual cells, 0.05 % with fine ones",
    why=(
        "what is asked of a kernel whose other errors are tenths of a percent of "
        "moisture"
    ),
)


DATA = Path(__file__).with_name("crank_plane_sheet.csv")
# A sorption relation that is a straight line, u = x / (1 - x) with x = h / 2.
LINEAR = np.array([18.0, 0, 0, 0.5, 0, 0, 0, 0, 0, 1.0, 0, 0])
# Air at rest at zero, whose "cooling" makes the film's flux a straight line too.
AIR = np.array([1.0, 1.0, 0.0, -0.5, 0.0, 0.0, 0.0, 0.0])
HALF, START = 0.0135, 0.2


def table() -> list[tuple[str, float, float]]:
    with DATA.open(encoding="utf-8") as handle:
        return [
            (row["biot"], float(row["fourier"]), float(row["remaining"]))
            for row in csv.DictReader(handle)
        ]


def worst_error(cells: int, grading: float, step: float) -> float:
    """Largest difference over the table, as a share of the whole change."""
    rows = table()
    biots = list(dict.fromkeys(row[0] for row in rows))
    number = np.array([1e12 if b == "inf" else float(b) for b in biots])
    steps, every = round(5.0 / step), round(0.005 / step)
    run = advance(
        np.tile(AIR, (1, steps + 1, 1)),
        steps=steps,
        every=every,
        air_index=0,
        start_hour=0,
        thickness_m=2.0 * HALF,
        diffusivity=1.0,
        density=1.0,
        surface_transfer=0.5 * number / HALF,
        state=fresh_state(START, len(biots), cells),
        grading=grading,
        step_seconds=step * HALF**2,
        slope=0.0,
        isotherm=LINEAR,
    )
    left = run.mean / START
    return max(
        abs(left[round(fourier / 0.005), biots.index(biot)] - remaining)
        for biot, fourier, remaining in rows
    )


def test_the_table_is_the_series() -> None:
    from scipy.optimize import brentq

    for biot, fourier, remaining in table():
        if biot == "inf" or fourier not in (0.1, 1.0):
            continue
        bi = float(biot)
        total = 0.0
        for n in range(200):
            low, high = n * np.pi, (n + 0.5) * np.pi
            root = brentq(
                lambda b, bi=bi: b * np.sin(b) - bi * np.cos(b), low, high, xtol=1e-14
            )
            total += (
                2.0
                * bi**2
                * np.exp(-(root**2) * fourier)
                / (root**2 * (root**2 + bi**2 + bi))
            )
        assert total == pytest.approx(remaining, abs=2e-8)


# An hour of a 27 mm board of middling wood is about 0.0005 in Fourier's number.
@pytest.mark.parametrize("step", [0.0005, 0.001])
def test_default_cells(step: float, record_reached: Record) -> None:
    error = worst_error(16, 0.2, step)
    record_reached("usual cells, share of the whole change", error)
    assert error < 0.001  # 0.7 % is asked


@pytest.mark.parametrize("step", [0.0005, 0.001])
def test_fine_cells(step: float, record_reached: Record) -> None:
    error = worst_error(24, 0.1, step)
    record_reached("fine cells, share of the whole change", error)
    assert error < 0.0005  # 0.1 % is asked
