"""Make the weather of Kalvenau, an invented valley below mountains, from a seed.

Run by hand from anywhere: ``python data/demonstration/generate.py``. It writes
``emcforecast/tables/demonstration.npz``: twelve whole years, 2007 to 2018, hourly in
UTC, and needs numpy only. The same seed gives the same file: random numbers come from
the raw stream of a PCG64 bit generator, whose output numpy promises to keep.

How it is made, in the order of the code:

1. slow moods: months-long anomalies of warmth and of wetness, and each year's own;
2. fronts every four to five days, warm and moist ahead, rain in the middle, cool and
   dry behind, and a drifting air mass between them;
3. summer storms in the afternoons of moist unsettled days;
4. cloud from all of these, sun from the solar geometry and the cloud;
5. the day's warming and the night's cooling as a heat balance of the air near the
   ground, which stops at the dew point: dew, then valley fog;
6. wind, stronger by day, by winter and near fronts.

Twelve monthly means of temperature and humidity are the climate asked for; the base
of the temperature and of the dew-point depression is moved, month by month, until the
twelve-year means agree with them.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

SEED = 20070146
FIRST, LAST = np.datetime64("2007-01-01T00"), np.datetime64("2019-01-01T00")
SPIN_UP = 20 * 24  # hours made before the first kept one
LATITUDE, LONGITUDE, ELEVATION, UTC_OFFSET = 46.1, 15.2, 300.0, 1.0
TARGET = Path(__file__).resolve().parents[2] / "emcforecast/tables/demonstration.npz"

# The climate asked for: monthly mean temperature (°C) and relative humidity (%).
MEAN_T = np.array([-0.9, 1.0, 5.5, 10.2, 15.0, 18.5, 20.3, 19.6, 15.2, 10.2, 4.6, 0.0])
MEAN_RH = np.array([84.0, 79, 73, 70, 71, 72, 72, 75, 80, 82, 85, 86])


# Leaning of the cloud by month: overcast early winter, clear high summer.
CLOUD = np.array(
    [0.95, 0.70, 0.50, 0.50, 0.50, 0.40, 0.25, 0.20, 0.35, 0.60, 1.00, 1.15]
)


class Stream:
    """Random numbers that stay the same from one numpy to the next."""

    def __init__(self, seed: int) -> None:
        self._bits = np.random.PCG64(seed)

    def uniform(self, n: int) -> np.ndarray:
        """Draw n numbers in (0, 1)."""
        raw = np.asarray(self._bits.random_raw(n)) >> np.uint64(11)
        return (raw.astype(np.float64) + 0.5) * 2.0**-53

    def normal(self, n: int) -> np.ndarray:
        """Draw n standard normal numbers (Box and Muller)."""
        u, v = self.uniform(n), self.uniform(n)
        return np.sqrt(-2 * np.log(u)) * np.cos(2 * np.pi * v)


@dataclass(frozen=True)
class Clock:
    """The hours to be made, and the sun over them."""

    time: np.ndarray  # UTC start of hour
    season: np.ndarray  # +1 in deep winter, -1 in high summer
    month_at: np.ndarray  # fractional month, 0 = middle of January
    local: np.ndarray  # local solar hour at the middle of the interval
    clear_sky: np.ndarray  # W/m²


def drift(noise: np.ndarray, hours: float) -> np.ndarray:
    """Exponentially correlated noise of unit variance."""
    keep = np.exp(-1 / hours)
    push = np.sqrt(1 - keep * keep)
    out = np.empty_like(noise)
    level = noise[0]
    for i, x in enumerate(noise.tolist()):
        level = keep * level + push * x
        out[i] = level
    return out


def smooth_drift(noise: np.ndarray, hours: float) -> np.ndarray:
    """Twice-filtered noise of unit variance: no kinks from one hour to the next."""
    once = drift(noise, hours)
    keep = np.exp(-1 / hours)
    out = np.empty_like(once)
    level = 0.0
    for i, x in enumerate(once.tolist()):
        level = keep * level + (1 - keep) * x
        out[i] = level
    return out / out.std()


def make_clock() -> Clock:
    """Lay out the hours, the season and the clear sky."""
    start = FIRST - np.timedelta64(SPIN_UP, "h")
    time = np.arange(start, LAST, np.timedelta64(1, "h"))
    day = (time - time.astype("datetime64[Y]")) / np.timedelta64(1, "D")
    season = np.cos(2 * np.pi * (day - 18) / 365.25)
    month_at = (day - 15.2) / 30.4375
    cos_zenith = np.zeros(len(time))
    clear = np.zeros(len(time))
    for part in (np.arange(6) + 0.5) / 6:
        turn = 2 * np.pi * (day + part / 24 - 1) / 365.25
        declination = (
            0.006918
            - 0.399912 * np.cos(turn)
            + 0.070257 * np.sin(turn)
            - 0.006758 * np.cos(2 * turn)
            + 0.000907 * np.sin(2 * turn)
        )  # radians (Spencer 1971)
        # equation of time, minutes (Spencer 1971)
        minutes = 229.18 * (
            0.000075
            + 0.001868 * np.cos(turn)
            - 0.032077 * np.sin(turn)
            - 0.014615 * np.cos(2 * turn)
            - 0.040849 * np.sin(2 * turn)
        )
        hour = (day % 1) * 24 + part + LONGITUDE / 15 + minutes / 60
        angle = np.radians(15 * (hour - 12))
        lat = np.radians(LATITUDE)
        high = np.sin(lat) * np.sin(declination)
        cos_zenith = high + np.cos(lat) * np.cos(declination) * np.cos(angle)
        up = np.maximum(cos_zenith, 1e-3)
        clear += np.where(
            cos_zenith > 1e-3, 1098 * up * np.exp(-0.057 / up) / 6, 0.0
        )  # Haurwitz 1945
    local = ((day % 1) * 24 + 0.5 + LONGITUDE / 15) % 24
    return Clock(time, season, month_at, local, clear)


def by_month(values: np.ndarray, clock: Clock) -> np.ndarray:
    """Spread twelve monthly values smoothly over the hours."""
    ring = np.concatenate([values[-1:], values, values[:1]])
    return np.interp(clock.month_at, np.arange(-1, 13), ring)


def fronts(stream: Stream, clock: Clock, wetness: np.ndarray) -> dict[str, np.ndarray]:
    """Let fronts pass: warm and moist ahead, rain, cool and dry behind."""
    n = len(clock.time)
    warm, moist, cover, wind, rain = (np.zeros(n) for _ in range(5))
    spare = stream.uniform(40 * n // 24).reshape(-1, 40)
    at = 30.0
    count = 0
    while at < n - 1:
        u = spare[count]
        count += 1
        i = int(at)
        winter = 0.5 + 0.5 * clock.season[i]
        # gaps: gamma of shape 3, shorter in wet moods
        gap = -np.log(u[0] * u[1] * u[2]) / 3
        at += max(22.0, gap * (104 - 14 * winter) * np.exp(-0.22 * wetness[i]))
        strength = 0.55 + 0.75 * u[3]
        lag = np.arange(max(0, i - 72), min(n, i + 120)) - i
        where = lag + i
        ahead = np.where(lag < 0, np.exp(lag / 22.0), 0)
        behind = np.where(lag >= 0, np.exp(-lag / 34.0) * -np.expm1(-lag / 5.0), 0)
        warm[where] += strength * (ahead * (2.6 + 1.2 * winter))
        warm[where] -= strength * (behind * (3.6 + 1.2 * winter))
        moist[where] += strength * (ahead * 2.4 - behind * (3.2 - 0.8 * winter))
        near = np.exp(-0.5 * ((lag + 4) / (8.0 + 5 * winter)) ** 2)
        cover[where] += strength * 1.5 * near
        wind[where] += strength * np.exp(-0.5 * ((lag - 3) / 9.0) ** 2)
        # rain: a spell about the front, patchy, sometimes none
        if u[4] < 0.80 + 0.10 * wetness[i]:
            length = (4.0 + 7.0 * winter) * (0.35 - 1.15 * np.log(u[5]))
            length = float(np.clip(length, 1, 40))
            begin = i - int(0.6 * length) + int(4 * u[6]) - 2
            power = (1.8 - 0.9 * winter) * (0.35 - 0.65 * np.log(u[7]))
            for k in range(round(length)):
                hour = begin + k
                draw = u[8 + k % 32]
                if 0 <= hour < n and draw < 0.78:
                    fall = power * (-np.log(draw / 0.78)) ** 1.15
                    rain[hour] = max(rain[hour], fall)
    return {"warm": warm, "moist": moist, "cover": cover, "wind": wind, "rain": rain}


def storms(stream: Stream, clock: Clock, moist: np.ndarray) -> np.ndarray:
    """Summer showers (mm) in the afternoons of moist unsettled days."""
    n = len(clock.time)
    rain = np.zeros(n)
    warm_season = np.clip(-clock.season, 0, 1)
    draws = stream.uniform(6 * (n // 24 + 1)).reshape(-1, 6)
    for day in range(n // 24):
        u = draws[day]
        noon = day * 24 + 12 - round(LONGITUDE / 15)
        if noon + 12 >= n:
            break
        chance = 0.33 * warm_season[noon] * np.exp(0.25 * moist[noon])
        if u[0] < min(chance, 0.8):
            begin = noon + int(2 + 7 * u[1])
            for k in range(1 + int(2.4 * u[2])):
                rain[begin + k] = (0.4 - 4.2 * np.log(u[3])) * (1 - 0.4 * k * u[4])
    return rain


def saturation(t: np.ndarray | float) -> np.ndarray:
    """Saturation vapour pressure over water (Pa), WMO No. 8."""
    return 611.2 * np.exp(17.62 * t / (243.12 + t))


def dew_point(e: np.ndarray | float) -> np.ndarray:
    """Dew point (°C) of a vapour pressure (Pa)."""
    x = np.log(e / 611.2)
    return 243.12 * x / (17.62 - x)


def near_ground(
    base: np.ndarray,
    dew: np.ndarray,
    heating: np.ndarray,
    cooling: np.ndarray,
    hold: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """Warm the air by day and cool it by night, no further than its dew point.

    ``base`` is the air mass, ``heating`` and ``cooling`` K per hour, ``hold`` the part
    of the departure from the air mass that is left after an hour. Below the dew point
    the water condenses: the fall is slowed by its heat, the dew point goes down too
    and comes back over the morning.
    """
    n = len(base)
    out_t, out_dew = np.empty(n), np.empty(n)
    away, lost = 0.0, 0.0  # departure from the air mass; dew point lost to dew
    rows = zip(
        base.tolist(),
        dew.tolist(),
        heating.tolist(),
        cooling.tolist(),
        hold.tolist(),
        strict=True,
    )
    for i, (b, d, warm, cool, keep) in enumerate(rows):
        fog = b + away <= d - lost + 1.0
        if fog:
            warm *= 0.55
            cool *= 0.35
        away = keep * away + warm - cool
        lost *= 0.86 if warm > 0.05 else 0.985
        t = b + away
        if t < d - lost:
            lost += 0.9 * (d - lost - t)
            t = d - lost if t < d - lost else t
            away = t - b
        out_t[i] = t
        out_dew[i] = d - lost
    return out_t, out_dew


def make() -> dict[str, np.ndarray]:
    """Make the whole weather, rounded as it is stored."""
    stream = Stream(SEED)
    clock = make_clock()
    n = len(clock.time)
    winter = 0.5 + 0.5 * clock.season

    # 1. slow moods
    slow_warm = smooth_drift(stream.normal(n), 10 * 24)
    slow_wet = smooth_drift(stream.normal(n), 13 * 24)
    years = clock.time.astype("datetime64[Y]").astype(int)
    years -= years[0]
    own = stream.normal(2 * (years[-1] + 1)).reshape(2, -1)
    year_warm, year_wet = own[0][years], own[1][years]
    wetness = 1.10 * slow_wet + 0.40 * year_wet

    # 2. and 3. fronts, air mass, storms
    passing = fronts(stream, clock, wetness)
    air_mass = smooth_drift(stream.normal(n), 30.0)
    dryness = smooth_drift(stream.normal(n), 26.0)
    flutter = drift(stream.normal(n), 5.0)
    shower = storms(stream, clock, passing["moist"] - 0.9 * dryness + wetness)
    rain = passing["rain"] + shower
    rain[rain < 0.1] = 0.0

    # 4. cloud and sun
    haze = drift(stream.normal(n), 16.0)
    cloudy = (
        by_month(CLOUD, clock)
        + 0.95 * passing["cover"]
        + 0.85 * haze
        + 0.30 * wetness
        - 0.25 * dryness
    )
    cloud = 1 / (1 + np.exp(-1.7 * cloudy))
    cloud = np.where(rain > 0, np.maximum(cloud, 0.93), cloud)
    sun = clock.clear_sky * (1 - 0.75 * cloud**3.4)  # Kasten and Czeplak 1980

    # 6. wind before 5, because it mixes the night air
    day_part = np.clip(np.sin(np.pi * (clock.local - 6.5) / 13.5), 0, 1)
    gust = 0.44 * drift(stream.normal(n), 9.0) + 0.22 * drift(stream.normal(n), 2.0)
    wind = (1.15 + 0.10 * winter) * np.exp(
        gust + 0.62 * day_part + 0.42 * passing["wind"] + 0.10 * wetness
    )

    # 5. air near the ground
    synoptic = (
        passing["warm"]
        + (3.3 + 0.5 * winter) * air_mass
        + (0.5 + 1.2 * winter) * slow_warm
        + (0.15 + 0.10 * winter) * year_warm
        - (0.55 * (1 - winter)) * wetness
        + 0.35 * flutter
    )
    depression = (
        -passing["moist"]
        + (2.5 - 0.7 * winter) * dryness
        - (1.40 - 0.4 * winter) * wetness
        + 0.25 * flutter
    )
    soaked = np.convolve(rain > 0, np.array([0.55, 0.3, 0.15]))[:n]
    stir = 1 / (1 + (wind / 3.2) ** 2)
    clear_night = 1 - 0.8 * cloud**2
    heating = sun / 265.0 * (1.0 - 0.05 * winter)
    cooling = (0.62 + 0.85 * stir) * (1 - 0.15 * winter) * clear_night
    hold = np.exp(-(1 / 9.0) * np.ones(n)) - 0.03 * (1 - stir)

    t_base, depth = MEAN_T.copy(), np.full(12, 5.0)
    month = clock.time.astype("datetime64[M]").astype(int) % 12
    kept = np.arange(n) >= SPIN_UP
    for _ in range(12):
        base = by_month(t_base, clock) + synoptic
        gap = by_month(depth, clock) + depression
        # a depression bends away from zero, so that saturated air masses are rare
        gap = 0.7 * np.log1p(np.exp(gap / 0.7))
        gap = np.where(soaked > 0, gap * (1 - 0.72 * np.minimum(soaked, 1)), gap)
        dry_sky = 1.12 - 0.016 * (base - gap - 10)  # less vapour, colder sky
        t, dew = near_ground(
            base, base - gap, heating * dry_sky, cooling * dry_sky, hold
        )
        # rain cools the air towards its wet bulb
        wet_cool = 0.35 * np.minimum(soaked, 1) * (t - dew)
        t = t - wet_cool
        dew = np.minimum(dew + 0.5 * wet_cool, t)
        rh = np.clip(100 * saturation(dew) / saturation(t), 8, 100)
        for m in range(12):
            these = kept & (month == m)
            t_base[m] += MEAN_T[m] - t[these].mean()
            depth[m] += 0.18 * (rh[these].mean() - MEAN_RH[m])
    return {
        "air_temperature": np.round(10 * t[kept]).astype(np.int16),
        "relative_humidity": np.round(10 * rh[kept]).astype(np.int16),
        "precipitation": np.round(10 * rain[kept]).astype(np.int16),
        "wind_speed": np.round(10 * np.minimum(wind[kept], 32)).astype(np.int16),
        "shortwave": np.round(sun[kept]).astype(np.int16),
    }


def pack(series: dict[str, np.ndarray], path: Path) -> None:
    """Write first differences, compressed: they pack to a third of the values."""
    steps = {
        name: np.diff(values, prepend=np.int16(0)).astype(np.int16)
        for name, values in series.items()
    }
    np.savez_compressed(path, **steps)


if __name__ == "__main__":
    pack(make(), TARGET)
    print(f"{TARGET}: {TARGET.stat().st_size / 1e6:.2f} MB")
