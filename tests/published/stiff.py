"""The board's equations written out again from METHOD for a stiff solver of scipy.

Nothing here comes from the package: the sorption relation, the diffusion coefficient,
the surface balance (by bisection in water activity) and the grid are its own.
"""

from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray
from scipy.integrate import odeint
from scipy.optimize import brentq

Array = NDArray[np.float64]


@numba.njit
def emc(t: float, h: float) -> float:
    t = max(t, -1.1)
    w = 349 + 1.29 * t + 0.0135 * t * t
    k = 0.805 + 0.000736 * t - 0.00000273 * t * t
    k1 = 6.27 - 0.00938 * t - 0.000303 * t * t
    k2 = 1.91 + 0.0407 * t - 0.000293 * t * t
    x = k * h
    two = (k1 * x + 2 * k1 * k2 * x * x) / (1 + k1 * x + k1 * k2 * x * x)
    return 18 / w * (x / (1 - x) + two)


@numba.njit
def diffusion(u: float, t: float, d: float, green: float) -> float:
    activation = np.exp(-5000 * (1 / (t + 273.15) - 1 / 293.15))
    step = 1 + (green - 1) * min(max(u - 0.28, 0) / 0.2, 1)
    return d * np.exp(3 * (min(u, 0.28) - 0.12)) * activation * step


@numba.njit
def flux(
    u: float,
    t: float,
    h: float,
    half: float,
    d: float,
    green: float,
    beta: float,
    rho: float,
) -> float:
    es = 611.2 * np.exp(17.62 * t / (243.12 + t))
    kelvin = t + 273.15
    slope = es * 17.62 * 243.12 / (243.12 + t) ** 2
    cooling = slope * 2.45e6 / (461.5 * kelvin * 353 / kelvin * 1006 * 0.91)
    drive = beta * es / (461.5 * kelvin) / rho
    free = drive * (1 - h) / (1 + cooling)
    if u - free * half / diffusion(u, t, d, green) >= emc(t, 1.0):
        return free
    low, high = 0.0, 1.0
    for _ in range(45):
        a = 0.5 * (low + high)
        us = emc(t, a)
        out = drive * (a - h) / (1 + a * cooling)
        if diffusion(0.5 * (u + us), t, d, green) * (u - us) / half > out:
            low = a
        else:
            high = a
    a = 0.5 * (low + high)
    return drive * (a - h) / (1 + a * cooling)


@numba.njit
def rate(
    u: Array,
    dx: Array,
    t: float,
    h: float,
    d: float,
    green: float,
    beta: float,
    rho: float,
) -> Array:
    n = u.size
    f = np.empty(n + 1)
    f[0] = 0.0
    for k in range(n - 1):
        far = dx[k] / (dx[k] + dx[k + 1])
        middle = u[k] * (1 - far) + u[k + 1] * far
        apart = 0.5 * (dx[k] + dx[k + 1])
        f[k + 1] = diffusion(middle, t, d, green) * (u[k] - u[k + 1]) / apart
    f[n] = flux(u[n - 1], t, h, 0.5 * dx[n - 1], d, green, beta, rho)
    return (f[:-1] - f[1:]) / dx


def whole_board(board: dict[str, float]) -> tuple[float, float]:
    """What edges, ends and thickness add to the diffusion, and to the surface."""
    n = np.arange(400) + 0.5

    def left(fo: float) -> float:
        return float((2 / (n * np.pi) ** 2 * np.exp(-((n * np.pi) ** 2) * fo)).sum())

    t = board["thickness"]
    edge, end = t / board["width"], t / board["length"]
    sheet = brentq(lambda fo: left(fo) - 0.15, 1e-3, 2)
    block = brentq(
        lambda fo: left(fo) * left(fo * edge**2) * left(fo * 12.5 * end**2) - 0.15,
        1e-3,
        2,
    )
    return sheet / block * max(t / 0.027, 1) ** 0.4, 1 + end


def solve(
    temperature: Array,
    humidity: Array,
    start: float,
    board: dict[str, float],
    cells: int = 80,
    **options: Any,
) -> tuple[Array, Array]:
    """Mean content and outer 2 mm, kg/kg, at every full hour, by scipy's LSODA."""
    length = 0.5 * board["thickness"]
    width = 0.1 ** (np.arange(cells) / (cells - 1))
    dx = width / width.sum() * length
    hours = temperature.size - 1
    gain, bare = whole_board(board)

    def function(s: float, u: Array) -> Array:
        k = min(int(s // 3600), hours)
        return rate(
            u,
            dx,
            temperature[k],
            humidity[k],
            board["diffusivity"] * gain,
            board["green"],
            board["beta"] * bare,
            board["density"],
        )

    settings = {"rtol": 1e-6, "atol": 1e-8, "hmax": 600.0, "mxstep": 10_000} | options
    table = odeint(
        function,
        np.full(cells, start),
        3600.0 * np.arange(hours + 1),
        tfirst=True,
        ml=1,
        mu=1,
        **settings,
    )
    edge = np.cumsum(dx)
    shell = np.clip(edge - (length - 0.002), 0.0, dx) / 0.002
    return table @ dx / length, table @ shell
