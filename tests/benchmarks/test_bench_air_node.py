"""The air of a store through a year, against a general solver on the same equations.

The general solver is scipy's LSODA stepping the same two states with the hour's weather
held, at a tolerance (1e-3 K, 1e-5 of humidity) far looser than the exact steps need.
"""

import time
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from emcforecast.physics.air_node import PARAMETERS, air_node
from emcforecast.physics.moist_air import saturation_vapour_pressure

YEAR = 8760
LOFT = PARAMETERS | {
    "vent": 3.3, "vent_wind": 0.7, "u_roof": 2.0, "u_wall": 1.0, "capacity": 6.0e4,
    "absorbed": 0.75, "emitted": 0.5, "exchange": 1.0e-7, "store": 0.8,
}  # fmt: skip


def weather() -> np.ndarray:
    h = np.arange(YEAR)
    t = 9.0 - 11.0 * np.cos(h * 2 * np.pi / 8760) - 5.0 * np.cos(h * np.pi / 12)
    e = 0.75 * saturation_vapour_pressure(t)
    sun = np.maximum(0.0, -500.0 * np.cos(h * np.pi / 12))
    one = np.ones(YEAR)
    return np.column_stack(
        [t, e, 2.0 * one, sun, 50.0 * one, 5.1 * one, 9.0 * one, 1147.0 * one,
         0.5 * one, h // 730 % 12, one]
    )  # fmt: skip


def general(table: np.ndarray, hours: int) -> np.ndarray:
    p = LOFT
    y = np.array([table[0, 0], 0.75])
    out = np.empty(hours)
    for k in range(hours):
        t_o, e_o, wind, sun, loss, rad = table[k, :6]
        vent = p["vent"] + p["vent_wind"] * wind
        film = 2.8 + 3.0 * wind + p["emitted"] * rad
        excess = (p["absorbed"] * sun - p["emitted"] * loss) / film
        g = vent / (1200.0 * 461.5 * (t_o + 273.15))

        def slope(_: float, y: np.ndarray) -> list[float]:
            e_s = 611.2 * np.exp(17.62 * y[0] / (243.12 + y[0]))
            e = (g * e_o + p["exchange"] * y[1] * e_s) / (g + p["exchange"])  # noqa: B023
            heat = (vent + p["u_wall"]) * (t_o - y[0])  # noqa: B023
            heat += p["u_roof"] * (t_o + excess - y[0])  # noqa: B023
            flow = p["exchange"] * (e - y[1] * e_s)
            return [heat / p["capacity"], flow / p["store"]]

        y = solve_ivp(slope, (0.0, 3600.0), y, "LSODA", rtol=1e-6, atol=(1e-3, 1e-5)).y[
            :, -1
        ]
        out[k] = y[0]
    return out


def best(function: Callable[[], object], times: int) -> float:
    spent = []
    for _ in range(times):
        begin = time.perf_counter()
        function()
        spent.append(time.perf_counter() - begin)
    return min(spent)


@pytest.mark.parametrize("lanes", [1, 16, 128])
def test_bench_air_node(benchmark, lanes: int) -> None:  # type: ignore[no-untyped-def]
    table = weather()
    p = LOFT | {"vent": np.geomspace(2.0, 5.0, lanes)} if lanes > 1 else LOFT
    first = air_node(table, p)
    hours = 240
    slow = general(table, hours)
    if lanes == 1:
        # the same equations: end of hour against hourly mean, so only roughly equal
        assert np.abs(slow[24:] - first.temperature[24:hours, 0]).mean() < 1.5
    each_general = best(lambda: general(table, hours), 2) * YEAR / hours
    each_mine = best(lambda: air_node(table, p), 5) / lanes
    benchmark.extra_info["times_faster_than_lsoda"] = each_general / each_mine
    benchmark.extra_info["ms_a_setting_year"] = 1e3 * each_mine
    benchmark(air_node, table, p)
