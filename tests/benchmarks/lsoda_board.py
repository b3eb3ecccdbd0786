"""One board with scipy's LSODA, as anyone might write it: numpy or compiled.

The equations are METHOD section 5 on the default grid of 16 cells; the surface is
found by Newton's steps in y = x / (1 - x), x = K a_w.
"""

import math
from collections.abc import Callable
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray
from scipy.integrate import LSODA

Array = NDArray[np.float64]
R_V = 461.5


def surface_flux(
    u: float, t: float, h: float, half: float, d: float, beta: float, rho: float
) -> float:
    """Content lost through the surface, kg/kg m/s."""
    kelvin = t + 273.15
    es = 611.2 * math.exp(17.62 * t / (243.12 + t))
    cooling = es * 17.62 * 243.12 / (243.12 + t) ** 2 * 2.45e6
    cooling /= R_V * 353.0 * 1006.0 * 0.91
    drive = beta * es / (R_V * kelvin) / rho
    s = max(t, -1.1)
    w = 349 + 1.29 * s + 0.0135 * s * s
    k = 0.805 + 0.000736 * s - 0.00000273 * s * s
    k1 = 6.27 - 0.00938 * s - 0.000303 * s * s
    k2 = 1.91 + 0.0407 * s - 0.000293 * s * s
    c1, c2, n2 = 2.0 + k1, 1.0 + k1 + k1 * k2, k1 + 2.0 * k1 * k2
    most = k / (1.0 - k)
    g = d / half
    y = most if u > 0.25 else min(most, 0.5 * u * w / 18.0)
    for _ in range(8):
        den = 1.0 + c1 * y + c2 * y * y
        num = k1 * y + n2 * y * y
        us = 18.0 / w * (y + num / den)
        slope = (
            18.0
            / w
            * (1.0 + ((k1 + 2 * n2 * y) * den - num * (c1 + 2 * c2 * y)) / den**2)
        )
        wet = k + (k + cooling) * y
        j = drive * ((1.0 - h * k) * y - h * k) / wet
        dj = drive * ((1.0 - h * k) * k + h * k * (k + cooling)) / wet**2
        step = (g * (u - us) - j) / (g * slope + dj)
        y = min(max(y + step, 0.0), most)
        if abs(step) < 1e-9:
            break
    return drive * ((1.0 - h * k) * y - h * k) / (k + (k + cooling) * y)


def grid(length: float, cells: int = 16, grading: float = 0.15) -> Array:
    width = grading ** (np.arange(cells) / (cells - 1))
    return width / width.sum() * length


def numpy_rate(
    u: Array, dx: Array, far: Array, apart: Array, t: float, h: float, board: Array
) -> Array:
    warm = board[0] * math.exp(-5000.0 * (1.0 / (t + 273.15) - 1.0 / 293.15))
    middle = np.minimum((1.0 - far) * u[:-1] + far * u[1:], 0.28)
    flow = np.empty(u.size + 1)
    flow[0] = 0.0
    flow[1:-1] = warm * np.exp(3.0 * (middle - 0.12)) * (u[:-1] - u[1:]) / apart
    last = warm * math.exp(3.0 * (min(u[-1], 0.28) - 0.12))
    flow[-1] = surface_flux(u[-1], t, h, 0.5 * dx[-1], last, board[1], board[2])
    return (flow[:-1] - flow[1:]) / dx


_flux = numba.njit(surface_flux, error_model="numpy")


@numba.njit(error_model="numpy")
def compiled_rate(
    u: Array, dx: Array, far: Array, apart: Array, t: float, h: float, board: Array
) -> Array:
    warm = board[0] * math.exp(-5000.0 * (1.0 / (t + 273.15) - 1.0 / 293.15))
    n = u.size
    out = np.empty(n)
    before = 0.0
    for i in range(n - 1):
        middle = min((1.0 - far[i]) * u[i] + far[i] * u[i + 1], 0.28)
        flow = warm * math.exp(3.0 * (middle - 0.12)) * (u[i] - u[i + 1]) / apart[i]
        out[i] = (before - flow) / dx[i]
        before = flow
    last = warm * math.exp(3.0 * (min(u[-1], 0.28) - 0.12))
    flow = _flux(u[-1], t, h, 0.5 * dx[-1], last, board[1], board[2])
    out[n - 1] = (before - flow) / dx[n - 1]
    return out


def run(
    rate: Callable[..., Array],
    temperature: Array,
    humidity: Array,
    start: float,
    thickness: float,
    board: Array,
    **options: Any,
) -> Array:
    """Mean content at the end of every hour, kg/kg."""
    dx = grid(0.5 * thickness)
    far = dx[:-1] / (dx[:-1] + dx[1:])
    apart = 0.5 * (dx[:-1] + dx[1:])
    hours = temperature.size

    def function(s: float, u: Array) -> Array:
        k = min(int(s / 3600.0), hours - 1)
        return rate(u, dx, far, apart, temperature[k], humidity[k], board)

    settings = {"rtol": 1e-3, "atol": 1e-5, "max_step": 3600.0} | options
    solver = LSODA(
        function,
        0.0,
        np.full(dx.size, start),
        hours * 3600.0,
        lband=1,
        uband=1,
        **settings,
    )
    means = []
    while solver.status == "running":
        solver.step()
        while (len(means) + 1) * 3600.0 <= solver.t:
            at = solver.dense_output()((len(means) + 1) * 3600.0)
            means.append(at @ dx / dx.sum())
    return np.array(means)
