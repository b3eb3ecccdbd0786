"""The board's surface: vapour to and from the air, and rain."""

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.physics.kernels.board_diffusion import (
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
    GREEN,
    KAPPA,
    MID,
    ONE,
    SURFACE_Y,
    TARGET,
    TINY,
    N,
)
from emcforecast.physics.kernels.compiled import compiled

AHEAD_HALF = 0.5 / GAMMA
"""Half a step over the step's own unit, GAMMA Δt."""


@compiled(inline=True, fused=True)
def _polynomial(
    u: float, d0: float, d1: float, d2: float, d3: float, d4: float
) -> float:
    return d0 + u * (d1 + u * (d2 + u * (d3 + u * d4)))


@compiled(inline=True, fused=True)
def _balance(
    y: float,
    r: float,
    content: float,
    rest: float,
    rest_y: float,
    by_rest: float,
    h: float,
    k: float,
    wetting: float,
    a: float,
    c1: float,
    c2: float,
    n2: float,
    scale: float,
    most: float,
    film: float,
    free: float,
    thin: float,
    d0: float,
    d1: float,
    d2: float,
    d3: float,
    d4: float,
    cap: float,
    steep: float,
    green: float,
) -> tuple[float, float, float, float]:
    """One step nearer to the surface's balance: y, its r and the conductance to air.

    The conductance comes as numerator and denominator. r is the inverse of the
    product of the two denominators of the balance. Both spare a division.
    """
    dry = 1.0 - h * k
    den = 1.0 + (c1 + c2 * y) * y
    wet = k + wetting * y
    r_den, r_wet = r * wet, r * den
    num = (a + n2 * y) * y
    surface = scale * (y + num * r_den)
    # Half a cell of wood, at the content midway between cell and surface.
    u = 0.5 * (content + surface)
    v = min(u, cap)
    green *= min((u - v) * steep, 1.0)
    half_cell = thin * (green + _polynomial(v, d0, d1, d2, d3, d4))
    through = half_cell * scale
    excess = half_cell * (content - surface) - film * (dry * y - h * k) * r_wet
    bend = (a + 2.0 * n2 * y) * den - num * (c1 + 2.0 * c2 * y)
    slope = through * (1.0 + bend * r_den * r_den) + film * (
        dry * k + h * k * wetting
    ) * (r_wet * r_wet)
    y = min(max(y + excess / slope, 0.0), most)
    den = 1.0 + (c1 + c2 * y) * y
    wet = k + wetting * y
    r = 1.0 / (den * wet)
    bend = a + n2 * (y + rest_y) + (n2 * c1 - a * c2) * y * rest_y
    inner = through * (1.0 + bend * (r * wet * by_rest))
    outer = film * dry * (r * den)
    # The lesser of series / total and free / gap, with one division.
    series, total = half_cell * outer, inner + outer + TINY
    gap = max(content - rest, TINY)
    held = series * gap < free * total
    return y, r, series if held else free, total if held else gap


@compiled(inline=True, fused=True)
def meet_air(
    w: FloatArray,
    isotherm: FloatArray,
    diffusion: FloatArray,
    last: np.uint64,
    width: FloatArray,
    inverse: FloatArray,
    lean: FloatArray,
    alike: bool,
) -> None:
    """Conductance from the surface cell to the air, and the content it pulls to.

    Notes
    -----
    The unknown is y = x/(1 - x), x = K a_w. In it the sorption relation and the flux
    are rational: u = s [y + (a y + n y²)/(1 + c1 y + c2 y²)] with s = 18/W, a = K1,
    n = a + 2 K1 K2, c1 = 2 + a, c2 = 1 + a + K1 K2, and the flux with evaporative
    cooling is B [(1 - h K) y - h K]/(K + (K + P) y). What half a cell of wood
    brings, g (u_1 - u_s), less the flux is concave in y, so Newton's step never
    passes the root from below; two steps an hour, from the hour before, are enough.

    The conductance is the chord from the air's own rest content u_e, with the
    common factor y - y_e divided out: nothing cancels near rest, it is never
    negative, and the surface cannot be carried past u_e. Wood that stays wet at
    the surface gives the flux of free water.

    Where all lanes meet the same air (`alike`, a constant to the compiler) the first
    lane's is read, and what depends on the air alone is worked out once.

    Between the two, the thin surface cell is carried half a step ahead by itself,
    implicitly: extrapolation alone is wrong for it when the air jumps from hour to
    hour.
    """
    w0, w1, w2 = isotherm[0], isotherm[1], isotherm[2]
    k0, k1, k2 = isotherm[3], isotherm[4], isotherm[5]
    p0, p1, p2 = isotherm[6], isotherm[7], isotherm[8]
    q0, q1, q2 = isotherm[9], isotherm[10], isotherm[11]
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, cap = diffusion[3], diffusion[4], diffusion[5]
    steep = diffusion[6]
    cell = last * N
    below = cell - N
    s, half = width[last], inverse[last]
    out, far = inverse[last - ONE], lean[last - ONE]
    near = 1.0 - far
    t_all, h_all, cooling_all = w[A_TEMPERATURE], w[A_HUMIDITY], w[A_COOLING]
    rest_all, rest_y_all = w[A_REST], w[A_REST_Y]
    density_all, diffusivity_all = w[A_DENSITY], w[A_DIFFUSIVITY]
    for b in range(N):
        rate = w[KAPPA + b] * (diffusivity_all if alike else w[A_DIFFUSIVITY + b])
        w[A_DIFFUSIVITY + b] = rate
        thin = rate * half
        t = t_all if alike else w[A_TEMPERATURE + b]
        k = k0 + t * (k1 + t * k2)
        a = p0 + t * (p1 + t * p2)
        ab = a * (q0 + t * (q1 + t * q2))
        weight = w0 + t * (w1 + t * w2)
        c1, c2, n2 = 2.0 + a, 1.0 + a + ab, a + 2.0 * ab
        h = h_all if alike else w[A_HUMIDITY + b]
        rest = rest_all if alike else w[A_REST + b]
        rest_y = rest_y_all if alike else w[A_REST_Y + b]
        cooling = cooling_all if alike else w[A_COOLING + b]
        density = density_all if alike else w[A_DENSITY + b]
        wetting = k + cooling
        more = w[GREEN + b]
        content = w[MID + cell + b]
        film = w[FILM_COEFFICIENT + b] * density
        y = w[SURFACE_Y + b]
        # 18/W, K/(1 - K), 1/(1 + P) and 1/den(y_e), with one division.
        den_rest = 1.0 + (c1 + c2 * rest_y) * rest_y
        open_, damp = 1.0 - k, 1.0 + cooling
        first, second = weight * open_, damp * den_rest
        both = 1.0 / (first * second)
        scale = 18.0 * open_ * second * both
        most = k * weight * second * both
        free = film * max(1.0 - h, 0.0) * (first * den_rest * both) + TINY
        by_rest = first * damp * both
        r = 1.0 / ((1.0 + (c1 + c2 * y) * y) * (k + wetting * y))
        y, r, over, under = _balance(
            *(y, r, content, rest, rest_y, by_rest, h, k, wetting, a, c1, c2, n2),
            *(scale, most, film, free, thin, d0, d1, d2, d3, d4, cap, steep, more),
        )
        u = near * w[MID + below + b] + far * content
        v = min(u, cap)
        green = more * min((u - v) * steep, 1.0)
        g = rate * (green + _polynomial(v, d0, d1, d2, d3, d4)) * out * AHEAD_HALF
        over *= AHEAD_HALF
        content = s * w[CONTENT + cell + b] + g * w[MID + below + b]
        content = (under * content + over * rest) / (under * (s + g) + over)
        y, r, over, under = _balance(
            *(y, r, content, rest, rest_y, by_rest, h, k, wetting, a, c1, c2, n2),
            *(scale, most, film, free, thin, d0, d1, d2, d3, d4, cap, steep, more),
        )
        w[MID + cell + b] = content
        w[SURFACE_Y + b] = y
        w[CONDUCTANCE + b] = over / under
        w[TARGET + b] = rest


@compiled(inline=True, fused=True)
def rain_on(w: FloatArray, last: np.uint64, half: float, diffusion: FloatArray) -> None:
    """Let the film take rain and give vapour; hold a wet surface at saturation."""
    d0, d1, d2 = diffusion[0], diffusion[1], diffusion[2]
    d3, d4, cap = diffusion[3], diffusion[4], diffusion[5]
    cell = last * N
    wet_d = _polynomial(cap, d0, d1, d2, d3, d4)
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
