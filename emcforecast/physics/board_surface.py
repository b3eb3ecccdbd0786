"""The board's surface: vapour to and from the air, and rain."""

import numpy as np
from numpy.typing import NDArray

from emcforecast.physics.board_layout import (
    A_COOLING,
    A_DENSITY,
    A_DIFFUSIVITY,
    A_HUMIDITY,
    A_RAIN,
    A_REST,
    A_REST_Y,
    A_TEMPERATURE,
    CONDUCTANCE,
    CONTENT,
    FILM,
    FILM_COEFFICIENT,
    FILM_MOST,
    FILM_SCALE,
    GAMMA,
    KAPPA,
    MID,
    ONE,
    SURFACE_Y,
    TARGET,
    TINY,
    N,
)
from emcforecast.physics.compiled import compiled

Array = NDArray[np.float64]


@compiled(fused=True)
def meet_air(
    w: Array, isotherm: Array, diffusion: Array, last: np.uint64, half: float
) -> None:
    """Conductance from the surface cell to the air, and the content it pulls to.

    Notes
    -----
    The unknown is y = x/(1 - x), x = K a_w. In it the sorption relation and the flux
    are rational: u = s [y + (a y + n y²)/(1 + c1 y + c2 y²)] with s = 18/W, a = K1,
    n = a + 2 K1 K2, c1 = 2 + a, c2 = 1 + a + K1 K2, and the flux with evaporative
    cooling is B [(1 - h K) y - h K]/(K + (K + P) y). What half a cell of wood
    brings, g (u_1 - u_s), less the flux is concave in y, so Newton's step never
    passes the root from below; one step an hour, from the hour before, is enough.

    The conductance is the chord from the air's own rest content u_e, with the
    common factor y - y_e divided out: nothing cancels near rest, it is never
    negative, and the surface cannot be carried past u_e. Wood that stays wet at
    the surface gives the flux of free water.
    """
    w0, w1, w2 = isotherm[0], isotherm[1], isotherm[2]
    k0, k1, k2 = isotherm[3], isotherm[4], isotherm[5]
    p0, p1, p2 = isotherm[6], isotherm[7], isotherm[8]
    q0, q1, q2 = isotherm[9], isotherm[10], isotherm[11]
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, d5, cap = diffusion[3], diffusion[4], diffusion[5], diffusion[6]
    cell = last * N
    for b in range(N):
        t = w[A_TEMPERATURE + b]
        k = k0 + t * (k1 + t * k2)
        a = p0 + t * (p1 + t * p2)
        ab = a * (q0 + t * (q1 + t * q2))
        weight = (w0 + t * (w1 + t * w2)) / 18.0
        scale = 1.0 / weight
        c1, c2, n2 = 2.0 + a, 1.0 + a + ab, a + 2.0 * ab
        h = w[A_HUMIDITY + b]
        rest = w[A_REST + b]
        rest_y = w[A_REST_Y + b]
        cooling = w[A_COOLING + b]
        content = w[MID + cell + b]
        film = w[FILM_COEFFICIENT + b] * w[A_DENSITY + b]
        y = w[SURFACE_Y + b]
        most = k / (1.0 - k)
        # Half a cell of wood, at the content midway between cell and surface.
        at_surface = scale * (y + (a + n2 * y) * y / (1.0 + (c1 + c2 * y) * y))
        v = min(0.5 * (content + at_surface), cap)
        rate = w[A_DIFFUSIVITY + b]
        half_cell = (
            rate * (d0 + v * (d1 + v * (d2 + v * (d3 + v * (d4 + v * d5))))) * half
        )
        drive = half_cell * (content - rest)
        through = half_cell * scale
        dry = 1.0 - h * k
        e = k + cooling
        film_slope = film * (dry * k + h * k * e)
        den = 1.0 + (c1 + c2 * y) * y
        wet = k + e * y
        r = 1.0 / (den * wet)
        r_den, r_wet = r * wet, r * den
        num = (a + n2 * y) * y
        value = (
            through * (y + num * r_den - rest * weight)
            + film * (dry * y - h * k) * r_wet
        )
        slope = (
            through
            * (
                1.0
                + ((a + 2.0 * n2 * y) * den - num * (c1 + 2.0 * c2 * y)) * r_den * r_den
            )
            + film_slope * r_wet * r_wet
        )
        y = min(max(y + (drive - value) / slope, 0.0), most)
        den = 1.0 + (c1 + c2 * y) * y
        den_rest = 1.0 + (c1 + c2 * rest_y) * rest_y
        bend = a + n2 * (y + rest_y) + (n2 * c1 - a * c2) * y * rest_y
        wet = k + e * y
        r = 1.0 / (den * den_rest * wet)
        inner = through * (1.0 + bend * (r * wet))
        outer = film * dry * (r * den * den_rest)
        series = half_cell * outer / (inner + outer + TINY)
        free = film * max(1.0 - h, 0.0) / (1.0 + cooling) + TINY
        w[SURFACE_Y + b] = y
        w[CONDUCTANCE + b] = min(series, free / max(content - rest, TINY))
        w[TARGET + b] = rest


@compiled(fused=True)
def scale_diffusion(w: Array) -> None:
    """Make the hour's relative diffusion each board's own, in the step's units."""
    for b in range(N):
        w[A_DIFFUSIVITY + b] = w[KAPPA + b] * w[A_DIFFUSIVITY + b]


@compiled(fused=True)
def look_ahead(
    w: Array, last: np.uint64, s: float, inverse: Array, lean: Array, diffusion: Array
) -> None:
    """Carry the thin surface cell half a step ahead by itself, implicitly.

    Extrapolation alone is wrong for it when the air jumps from hour to hour.
    """
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, d5, cap = diffusion[3], diffusion[4], diffusion[5], diffusion[6]
    c = last * N
    below = c - N
    half = 0.5 / GAMMA
    out, far = inverse[last - ONE], lean[last - ONE]
    near = 1.0 - far
    for b in range(N):
        v = min(near * w[MID + below + b] + far * w[MID + c + b], cap)
        face = (
            w[A_DIFFUSIVITY + b]
            * (d0 + v * (d1 + v * (d2 + v * (d3 + v * (d4 + v * d5)))))
            * out
        )
        u = w[CONDUCTANCE + b] * half
        g = face * half
        carried = s * w[CONTENT + c + b] + u * w[TARGET + b] + g * w[MID + below + b]
        w[MID + c + b] = carried / (s + u + g)


@compiled(fused=True)
def rain_on(w: Array, last: np.uint64, half: float, diffusion: Array) -> None:
    """Let the film take rain and give vapour; hold a wet surface at saturation."""
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, d5, cap = diffusion[3], diffusion[4], diffusion[5], diffusion[6]
    cell = last * N
    wet_d = d0 + cap * (d1 + cap * (d2 + cap * (d3 + cap * (d4 + cap * d5))))
    for b in range(N):
        film = w[FILM + b] + w[A_RAIN + b]
        film = min(film, w[FILM_MOST + b])
        free = (
            w[FILM_COEFFICIENT + b]
            * w[A_DENSITY + b]
            * max(1.0 - w[A_HUMIDITY + b], 0.0)
            / (1.0 + w[A_COOLING + b])
        )
        loss = w[FILM_SCALE + b] * free
        share = min(film / (loss + TINY), 1.0)
        w[FILM + b] = max(film - share * loss, 0.0)
        content = w[MID + cell + b]
        soak = w[A_DIFFUSIVITY + b] * wet_d * half
        # Wood wetter than the film's own wood neither gains nor loses beneath it.
        soak = share * (soak if content < cap else 0.0)
        dry = (1.0 - share) * w[CONDUCTANCE + b]
        total = soak + dry
        w[TARGET + b] = (soak * cap + dry * w[TARGET + b]) / (total + TINY)
        w[CONDUCTANCE + b] = total
