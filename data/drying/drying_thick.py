"""Thick stock: published times and ratios, and what the tool makes of them.

The two ratios fix the power of the thickness (`emcforecast.physics.section`); no yard
value and no kiln value of thick stock enters any fit.
"""

from __future__ import annotations

import numpy as np
from drying_days import days_to_target, read, species_by_name, with_factors
from drying_evidence import kiln_path

from emcforecast.thickness import parse_thickness
from emcforecast.wood.board import Board

INCH_LUMBER = parse_thickness("4/4").actual_mm
NEAR = 1.5
"""Thick values count as met within this factor either way."""
KILN_DAYS = 250
DRIEST = 5.0
"""% MC: EMC of a kiln's air that takes wood on to 10 %."""


def foretold(row: dict[str, str]) -> float:
    """Return what the tool says of one row: days, or the ratio of two times."""
    board = Board(species_by_name()[row["species"]], float(row["thickness_mm"]))
    if row["kind"] == "yard":
        stacked = np.datetime64(f"2001-{row['stacked']}") - np.datetime64("2001-01-01")
        days = days_to_target(
            board,
            row["place"],
            np.array([int(stacked.astype(int))]),
            np.array([board.factor.value]),
            2000,
            target=float(row["target"]),
        )
        return float(days[0, 0])
    fahrenheit = float(row["place"].split()[1])
    start, target = float(row["start"]), float(row["target"])
    if row["kind"] == "ratio":
        inch = Board(species_by_name()[row["species"]], INCH_LUMBER)
        thick, thin = (
            _kiln_days(one, fahrenheit, start, target) for one in (board, inch)
        )
        return thick / thin
    if start > 20.0:
        return _kiln_days(board, fahrenheit, start, target)
    # Dried to the start first: its core is then wetter than its face.
    to_target, to_start = (
        _kiln_days(board, fahrenheit, 80.0, mc) for mc in (target, start)
    )
    return to_target - to_start


def _kiln_days(board: Board, fahrenheit: float, start: float, target: float) -> float:
    emc = 8.0 if target >= 20.0 else DRIEST
    boards = with_factors(board, np.array([board.factor.value]))
    mean = kiln_path(boards, fahrenheit, start, emc, KILN_DAYS)[:, 0]
    return float((mean <= target).argmax()) / 24.0


def ratios() -> dict[str, tuple[str, float]]:
    """Return the kind of every row and what is foretold over what is published."""
    return {
        row["id"]: (row["kind"], foretold(row) / float(row["published"]))
        for row in read("thick_stock.csv")
    }
