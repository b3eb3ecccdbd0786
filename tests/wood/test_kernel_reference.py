"""The board kernel against the same laws solved another way, by a general library.

The laws are written out again here from their published forms; scipy's LSODA solves
them on a grid of 90 cells that narrow to a thousandth. The
sorption relation is that of the Wood Handbook (equation 4-5, coefficients from memory),
the pressure of saturation Magnus's.
"""

from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.sparse import diags_array

from emcforecast.physics.boards import BoardRun, advance, air_table, fresh_state

DAY = 24
Air = tuple[float, float]
"""°C and % relative humidity."""


def handbook_content(t: float, h: np.ndarray) -> np.ndarray:
    """Equilibrium content, kg/kg: the relation of the Wood Handbook in °C."""
    t = max(t, -1.1)
    w = 349.0 + 1.29 * t + 0.0135 * t**2
    k = 0.805 + 0.000736 * t - 0.00000273 * t**2
    k1 = 6.27 - 0.00938 * t - 0.000303 * t**2
    k2 = 1.91 + 0.0407 * t - 0.000293 * t**2
    x, product = k * h, k1 * k2
    bound = (k1 * x + 2.0 * product * x**2) / (1.0 + k1 * x + product * x**2)
    return 18.0 / w * (x / (1.0 - x) + bound)


def vapour_loss(t: float, rh: float, activity: Any) -> Any:
    """Flux over the transfer coefficient, kg/m³: what leaves cools the surface."""
    kelvin = t + 273.15
    pressure = 611.2 * np.exp(17.62 * t / (243.12 + t))
    slope = pressure * 17.62 * 243.12 / (243.12 + t) ** 2
    cooling = slope * 2.45e6 / (461.5 * kelvin * 353.0 / kelvin * 1006.0 * 0.91)
    density = pressure / (461.5 * kelvin)
    return density * (activity - rh / 100.0) / (1.0 + activity * cooling)


class Reference:
    """Half a board on a fine grid, wide cells inside and thin ones at the surface."""

    def __init__(self, start: float, **board: float) -> None:
        self.board = board
        self.half = 0.5 * board["thickness_m"]
        share = 1e-3 ** np.linspace(0.0, 1.0, 90)
        self.beside = diags_array([1.0] * 3, offsets=[-1, 0, 1], shape=(90, 90))
        self.width = share / share.sum() * self.half
        self.edge = np.cumsum(self.width)
        self.u = np.full(share.size, start)

    def coefficient(self, t: float, u: np.ndarray) -> np.ndarray:
        """Exp 3 (u - 0.12) up to 28 %; from there to 48 % on to green wood's own."""
        green = self.board.get("green_ratio", 1.0)
        factor = np.exp(3.0 * (np.minimum(u, 0.28) - 0.12))
        factor *= 1.0 + (green - 1.0) * np.clip((u - 0.28) / 0.2, 0.0, 1.0)
        warm = np.exp(-5000.0 * (1.0 / (t + 273.15) - 1.0 / 293.15))
        return self.board["diffusivity"] * warm * factor

    def go_on(self, air: Air, hours: float, held_at: float | None = None) -> None:
        """Let hours pass in one air; a wet surface is held at a content."""
        t, rh = air
        humidity = np.linspace(0.0, 1.0, 4001)
        contents = handbook_content(t, humidity)
        between = 0.5 * (self.width[1:] + self.width[:-1])
        exposure = self.board.get("exposure", 1.0)
        out = self.board["surface_transfer"] * exposure / self.board["density"]

        def change(_time: float, u: np.ndarray) -> np.ndarray:
            flow = self.coefficient(t, 0.5 * (u[1:] + u[:-1])) * np.diff(u) / between
            if held_at is None:
                activity = np.interp(u[-1], contents, humidity)
                last = -out * vapour_loss(t, rh, activity)
            else:
                skin = 0.5 * self.width[-1]
                last = float(self.coefficient(t, u[-1:])[0]) * (held_at - u[-1]) / skin
            return np.diff(np.concatenate([[0.0], flow, [last]])) / self.width

        done = solve_ivp(
            change, (0.0, 3600.0 * hours), self.u, method="BDF", rtol=1e-5, atol=1e-7,
            jac_sparsity=self.beside,
        )  # fmt: skip
        assert done.success
        self.u = done.y[:, -1]

    def part(self, begin: float, end: float) -> float:
        """Mean content between two distances from the centre, m."""
        inner = self.edge - self.width
        share = np.minimum(self.edge, end) - np.maximum(inner, begin)
        share = np.maximum(share, 0.0)
        return float(share @ self.u / (end - begin))

    def numbers(self) -> list[float]:
        """Mean, shell (the outer 2 mm, at most a third) and core (a third)."""
        shell = min(0.002, self.half / 3.0)
        return [
            self.part(0.0, self.half),
            self.part(self.half - shell, self.half),
            self.part(0.0, self.half / 3.0),
        ]


def kernel(air: np.ndarray, start: Any, boards: int = 1, **board: Any) -> BoardRun:
    given: dict[str, Any] = {
        "steps": air.shape[1] - 1,
        "air_index": 0,
        "start_hour": 0,
        "every": 1,
    }
    return advance(air, state=fresh_state(start, boards), **(given | board))


def numbers(run: BoardRun, at: int, board: int = 0) -> list[float]:
    return [float(part[at, board]) for part in (run.mean, run.shell, run.core)]


BOARDS: list[tuple[float, dict[str, float], tuple[Air, Air]]] = [
    # Green, with exposed ends and a green coefficient of its own; then damp and cool.
    (
        0.9,
        {"thickness_m": 0.027, "diffusivity": 1.2e-10, "density": 450.0,
         "surface_transfer": 2e-3, "green_ratio": 3.0, "exposure": 1.3},
        ((30.0, 40.0), (5.0, 92.0)),
    ),
    # Dry wood that takes up, and gives again; thin, so that the shell is a sixth.
    (
        0.06,
        {"thickness_m": 0.010, "diffusivity": 5e-11, "density": 600.0,
         "surface_transfer": 5e-4},
        ((22.0, 85.0), (35.0, 15.0)),
    ),
    # Frost: sorption at -1.1 °C, vapour and diffusion at the air's own.
    (
        0.4,
        {"thickness_m": 0.040, "diffusivity": 2e-10, "density": 350.0,
         "surface_transfer": 4e-3, "green_ratio": 0.5},
        ((-8.0, 70.0), (12.0, 60.0)),
    ),
]  # fmt: skip


FIRST, SECOND = 12 * DAY, 10 * DAY


def weather_of(first: Air, second: Air) -> np.ndarray:
    columns = [
        np.repeat(pair, (FIRST, SECOND)) for pair in zip(first, second, strict=True)
    ]
    return air_table(*columns)


def test_boards_follow_the_laws_as_a_general_solver_does() -> None:
    """The mean to 0.01 %, shell and core (whose bounds cut cells) to 0.1 % MC, a tenth
    of the last digit printed and all of it; alone, and beside boards in other air."""
    airs = np.stack([weather_of(*both) for *_, both in BOARDS])
    keys = {key for _, board, _ in BOARDS for key in board}
    columns = {key: [board.get(key, 1.0) for _, board, _ in BOARDS] for key in keys}
    starts = [start for start, *_ in BOARDS]
    beside = kernel(airs, starts, 3, air_index=[0, 1, 2], **columns)
    for k, (start, board, (first, second)) in enumerate(BOARDS):
        alone = kernel(airs[k : k + 1], start, **board)
        own = Reference(start, **board)
        at = 0
        for air, hours in ((first, 2 * DAY), (first, FIRST - 2 * DAY), (second, DAY)):
            own.go_on(air, hours)
            at += hours
            mean, shell, core = own.numbers()
            for found in (numbers(alone, at), numbers(beside, at, k)):
                assert found[0] == pytest.approx(mean, abs=1e-4)
                assert found[1:] == pytest.approx([shell, core], abs=1e-3)


def test_rain_holds_the_surface_wet_until_the_film_is_gone() -> None:
    """A shower of 3 mm leaves 0.08 kg/m² on a dry board; the film gives vapour as a
    wet surface does, and while it lasts the surface is held at 28 %."""
    air, film = (12.0, 75.0), 0.08
    board = {"thickness_m": 0.02, "diffusivity": 8e-11, "density": 500.0,
             "surface_transfer": 1e-3}  # fmt: skip
    rain = np.zeros(FIRST)
    rain[DAY] = 3.0
    table = air_table(np.full(FIRST, air[0]), np.full(FIRST, air[1]), rain)
    run = kernel(table[None], 0.12, rain_film=film, **board)
    wet = film / (3600.0 * board["surface_transfer"] * vapour_loss(*air, 1.0))
    assert wet == pytest.approx(21.0, abs=0.1)
    own = Reference(0.12, **board)
    own.go_on(air, DAY)
    assert numbers(run, DAY) == pytest.approx(own.numbers(), abs=1e-3)
    own.go_on(air, wet, held_at=0.28)
    assert numbers(run, DAY + 21) == pytest.approx(own.numbers(), abs=1e-3)
    own.go_on(air, 3 * DAY - wet)
    assert numbers(run, 4 * DAY) == pytest.approx(own.numbers(), abs=1e-3)
