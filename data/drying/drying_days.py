"""Days in the yard: where, when and in what air green inch lumber is taken to dry.

None of these inputs is free. Thickness and moving air are what the tool itself assumes
of 4/4 lumber and of a stack in the open yard; the dates are the seasons the published
table speaks of; the places are every climate at hand that has a source.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast.ensemble.boards import boards_as_stated, start_state
from emcforecast.ensemble.run_boards import AirTables, air_tables, run_boards
from emcforecast.storage.kinds import KINDS
from emcforecast.thickness import parse_thickness
from emcforecast.weather.mend.hours_from_means import hourly_from_monthly
from emcforecast.weather.series import make_series
from emcforecast.wood.board import Board
from emcforecast.wood.species import Species, all_species

HERE = Path(__file__).resolve().parent

TRANSFER = 1e-3 * float(KINDS["stack-roof"].defaults["surface_transfer"])
"""m/s, the tool's own roofed stack in an open yard (1 mm/s)."""
THICKNESS = parse_thickness("4/4").actual_mm
"""mm, what the tool takes 4/4 lumber to measure green (27 mm)."""
TARGET = 20.0
PLACES = {
    # Woods whose range reaches the Lake States (Michigan to Minnesota), and the spruce
    # north of them.
    "east": (("Louisville KY", "Charleston WV"), ("Madison WI",)),
    # Woods whose range ends south of the Lake States.
    "south": (("Jackson MS",), ("Louisville KY", "Charleston WV")),
    "inland west": (("Boise ID",), ("Missoula MT",)),
    "pacific": (("Portland OR",), ("Portland OR",)),
}
"""Southern and northern places by region; the mean (of logarithms) over several.
The published table: least, southern place; most, northern place."""
SPRING = np.arange(59, 182, 12)
"""Days of the year, spring and early summer: 1 March to 30 June."""
AUTUMN = np.arange(243, 365, 12)
"""Fall and early winter: 1 September to 31 December."""
DAYS = 620
NEAR = 0.2
"""Ends count as met within this share."""


@dataclass(frozen=True)
class Published:
    """One row of the published table."""

    wood: str
    species: Species
    part: str
    region: str
    least: float
    most: float

    @property
    def board(self) -> Board:
        """Inch lumber of this wood."""
        return self.board_of(THICKNESS)

    def board_of(self, thickness: float) -> Board:
        """Lumber of this wood, mm thick."""
        return Board(self.species, thickness, self.part)  # type: ignore[arg-type]

    @property
    def green_known(self) -> bool:
        """Whether its green moisture is published, not a stand-in."""
        wood = self.species
        return wood.green_heartwood is not None or wood.green_sapwood is not None


def read(name: str) -> list[dict[str, str]]:
    """Read a table that lies beside this file."""
    with (HERE / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


@cache
def species_by_name() -> dict[str, Species]:
    """Every species of the package."""
    return {one.name: one for one in all_species()}


def published() -> list[Published]:
    """Return the rows of the table whose wood the package knows."""
    return [
        Published(
            row["wood"],
            species_by_name()[row["species"]],
            row["part"],
            row["region"],
            float(row["days_min"]),
            float(row["days_max"]),
        )
        for row in read("published_days.csv")
        if row["species"]
    ]


@cache
def airs(transfer: float = TRANSFER) -> tuple[tuple[str, ...], AirTables]:
    """Return the places and their hourly air, rebuilt from monthly means."""
    rows = read("climates.csv")
    places = tuple(dict.fromkeys(row["place"] for row in rows))
    month = np.arange("2001-01", "2002-01", dtype="datetime64[M]")
    series: list[xr.Dataset] = []
    for place in places:
        own = [row for row in rows if row["place"] == place]
        monthly = make_series(
            month.astype("datetime64[ns]"),
            {
                "air_temperature": [float(row["temperature"]) for row in own],
                "relative_humidity": [float(row["relative_humidity"]) for row in own],
            },
            step="month",
            kind="normals",
            source=place,
        )
        hourly = hourly_from_monthly(monthly)
        series.append(hourly.assign_attrs(surface_transfer=transfer, rain_film=0.0))
    return places, air_tables(series)


def with_factors(board: Board, factors: np.ndarray) -> list[Board]:
    """Return the same board of woods that differ in their drying factor alone."""
    made = {
        f: replace(board, species=replace(board.wood, drying_factor=float(f)))
        for f in np.unique(factors)
    }
    return [made[f] for f in factors]


def days_to_target(
    board: Board,
    place: str,
    stacked: np.ndarray,
    factors: np.ndarray,
    days: int = DAYS,
    transfer: float = TRANSFER,
    target: float = TARGET,
) -> np.ndarray:
    """Days to the target, shape (factors, stackings); NaN where it is not reached."""
    places, air = airs(transfer)
    factor, start = np.meshgrid(factors, 24 * stacked, indexing="ij")
    boards = boards_as_stated(with_factors(board, factor.ravel()))
    run = run_boards(
        air,
        boards,
        start_state(boards, board.start_content()),
        air_index=places.index(place),
        start_row=start.ravel(),
        hours=24 * days,
    ).mean
    below = run <= target
    day = np.maximum(below.argmax(axis=0), 1)
    lane = np.arange(factor.size)
    above, under = run[day - 1, lane], run[day, lane]
    exact = day - 1 + (above - target) / (above - under)
    return np.where(below.any(axis=0), exact, np.nan).reshape(factor.shape)


def ends(
    board: Board, region: str, factors: np.ndarray, transfer: float = TRANSFER
) -> tuple[np.ndarray, np.ndarray]:
    """Least and most days for each factor."""
    south, north = PLACES[region]
    least = [
        days_to_target(board, place, SPRING, factors, transfer=transfer).min(axis=1)
        for place in south
    ]
    most = [
        days_to_target(board, place, AUTUMN, factors, transfer=transfer).max(axis=1)
        for place in north
    ]
    return np.exp(np.mean(np.log(least), axis=0)), np.exp(np.mean(np.log(most), axis=0))
