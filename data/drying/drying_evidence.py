"""What else is known of a wood: red oak's kiln constant, and what practice expects.

Distances are 1 where the evidence's own tolerance ends. Inch lumber enters the fit;
thicker stock does not: it is foretold.
"""

from __future__ import annotations

import numpy as np
from drying_days import (
    TARGET,
    THICKNESS,
    days_to_target,
    read,
    species_by_name,
    with_factors,
)

from emcforecast.ensemble.boards import boards_as_stated, start_state
from emcforecast.ensemble.run_boards import air_tables, run_boards
from emcforecast.physics.moist_air import saturation_vapour_pressure
from emcforecast.physics.sorption import equilibrium_humidity
from emcforecast.physics.stack_air import stack_transfer
from emcforecast.weather.series import make_series
from emcforecast.wood.board import Board
from emcforecast.wood.species import Species

KILN_WOOD = "oak, northern red"
KILN_NEAR, KILN_THICKNESS, KILN_START = 0.3, 25.4, 80.0
KILN_FAHRENHEIT = (95.0, 110.0, 130.0)
"""Red oak's kiln time constant τ = L^1.52/(0.0575 + 0.00142 p) days, L inches, p the
saturation pressure in mmHg: (M - Me)/(M0 - Me) = exp(-t/τ) (Tschernitz and Simpson,
quoted in an encyclopaedia, read as an excerpt; days is our reading)."""
KILN_EMC, KILN_AIR = 8.0, 2.0
"""% MC and m/s, usual in a kiln (common practice, no source)."""


def practice_days(row: dict[str, str], factors: np.ndarray) -> np.ndarray:
    """Days of one practice case for each factor."""
    board = Board(species_by_name()[row["species"]], float(row["thickness_mm"]))
    stacked = np.datetime64(f"2001-{row['stacked']}") - np.datetime64("2001-01-01")
    when = np.array([int(stacked.astype(int))])
    return days_to_target(board, row["place"], when, factors, 1500)[:, 0]


def practice(species: Species, factors: np.ndarray) -> list[np.ndarray]:
    """Distance from what practice expects of inch lumber, 1 at the range's ends."""
    found = []
    for row in read("practice.csv"):
        if row["species"] != species.name or not enters_fit(row):
            continue
        low, high = np.log(float(row["days_low"])), np.log(float(row["days_high"]))
        away = np.log(practice_days(row, factors)) - 0.5 * (low + high)
        found.append(np.abs(away) / (0.5 * (high - low)))
    return found


def enters_fit(row: dict[str, str]) -> bool:
    """Whether a case of practice is fitted; else it is foretold."""
    return float(row["thickness_mm"]) == THICKNESS


def kiln_path(
    boards: list[Board], fahrenheit: float, start: float, emc: float, days: int
) -> np.ndarray:
    """Mean moisture of boards in a kiln, hour by hour, % MC."""
    celsius = (fahrenheit - 32.0) / 1.8
    hours = np.full(24 * days, 1.0)
    air = make_series(
        np.datetime64("2001-01-01", "ns") + np.arange(hours.size).astype("m8[h]"),
        {
            "air_temperature": celsius * hours,
            "relative_humidity": float(equilibrium_humidity(celsius, emc)) * hours,
        },
        step="hour",
        kind="observed",
        source="a kiln",
    ).assign_attrs(surface_transfer=float(stack_transfer(KILN_AIR)), rain_film=0.0)
    many = boards_as_stated(boards)
    return run_boards(
        air_tables([air]),
        many,
        start_state(many, start / 100.0),
        air_index=0,
        start_row=0,
        hours=hours.size - 1,
        every=1,
    ).mean


def kiln_ratios(factors: np.ndarray) -> list[np.ndarray]:
    """Red oak's kiln days over the published ones, for each temperature."""
    found = []
    board = Board(species_by_name()[KILN_WOOD], KILN_THICKNESS)
    for fahrenheit in KILN_FAHRENHEIT:
        celsius = (fahrenheit - 32.0) / 1.8
        boards = with_factors(board, factors)
        mean = kiln_path(boards, fahrenheit, KILN_START, KILN_EMC, 90)
        days = np.maximum((mean <= TARGET).argmax(axis=0), 1) / 24.0
        mercury = float(saturation_vapour_pressure(celsius)) / 133.322
        tau = 1.0 / (0.0575 + 0.00142 * mercury)
        fraction = (TARGET - KILN_EMC) / (KILN_START - KILN_EMC)
        found.append(days / (-tau * np.log(fraction)))
    return found


def kiln(species: Species, factors: np.ndarray) -> list[np.ndarray]:
    """Distance of red oak's kiln times from the published ones, 1 at 30 %."""
    if species.name != KILN_WOOD:
        return []
    return [
        np.abs(np.log(ratio)) / np.log(1.0 + KILN_NEAR)
        for ratio in kiln_ratios(factors)
    ]


def evidence(species: Species, factors: np.ndarray) -> list[np.ndarray]:
    """Return all that is fitted of a species beside the published range."""
    return practice(species, factors) + kiln(species, factors)
