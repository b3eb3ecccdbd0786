"""Fit the defaults of attic and house to monitored buildings, and show what is left.

Run by hand: ``python tests/storage/fit_defaults.py`` prints the fits to both houses and
to each alone, how each does on the other, and the residuals month by month that
docs/storage.md carries; ``… sweep`` prints how calibration with six weeks of logger
does over start dates. The shipped defaults are the joint fit, rounded, and for the
house moved within the fit's flat bottom so that interior averages elsewhere hold too.
"""

import argparse
import importlib.util
from collections.abc import Callable, Sequence
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
from scipy.optimize import least_squares

from emcforecast.errors import WeatherError
from emcforecast.physics.moist_air import vapour_pressure
from emcforecast.physics.sorption import equilibrium_moisture_content as emc
from emcforecast.storage.air import run_setting
from emcforecast.storage.calibrate import calibrate
from emcforecast.storage.drivers import Drivers, drivers_of
from emcforecast.storage.setting_text import parse_setting
from emcforecast.storage.settings import Setting

Array = np.ndarray
HOUSES = ("A", "B")
SENSORS = {"attic": ("attic_mid", "attic_top"), "house": ("indoor1",)}
SCALE = np.array([1.0, 0.3, 1.0, 2.0, 0.5, 2.0])
"""K, hPa and % MC that weigh the same: monthly means, then day less night."""

# start, spread and kind of prior: "times" in the logarithm, "plus" as it is
Prior = tuple[float, float, str]
PRIORS: dict[str, dict[str, Prior]] = {
    "attic": {
        "ventilation": (5.0, 0.5, "times"),
        "wind_ventilation": (0.8, 0.5, "times"),
        "roof_u": (1.5, 0.4, "times"),
        "roof_sun": (0.75, 0.1, "plus"),
        "roof_sky": (0.4, 0.2, "plus"),
        "room_u": (0.18, 0.4, "times"),
        "heat_capacity": (60.0, 0.5, "times"),
        "buffer_exchange": (12.0, 0.7, "times"),
        "buffer_store": (0.7, 0.7, "times"),
    },
    "house": {
        "heat_to": (21.5, 1.0, "plus"),
        "ventilation": (0.3, 0.4, "times"),
        "window_opening": (1.5, 0.6, "times"),
        "opens_from": (12.0, 3.0, "plus"),
        "airing": (5.0, 0.5, "times"),
        "moisture_gain": (2.0, 0.4, "times"),
        "heat_gain": (6.0, 0.3, "times"),
        "window_area": (0.03, 0.5, "times"),
        "buffer_exchange": (4.0, 0.7, "times"),
        "buffer_store": (1.5, 0.8, "times"),
        "wall_u": (1.2, 0.4, "times"),
    },
}


def conftest() -> ModuleType:
    """Load the reader of the buildings that the tests use."""
    file = Path(__file__).with_name("conftest.py")
    spec = importlib.util.spec_from_file_location("storage_conftest", file)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class House:
    """One monitored house with its drivers."""

    def __init__(self, building: Any) -> None:
        self.building = building
        self.drivers: Drivers = drivers_of(building.weather)
        hour = building.table.index.hour.to_numpy()
        self.day = (hour >= 10) & (hour < 14)  # UTC: noon to four o'clock there
        self.night = hour < 4

    def facts(self, t: Array, rh: Array, sensor: str) -> Array:
        """Monthly mean T, e, EMC and their day less night, shape (months, 6)."""
        columns = (t, vapour_pressure(t, rh) / 100.0, emc(t, rh))

        def mean(values: Array, hours: Array | None = None) -> Array:
            if hours is None:
                return self.building.monthly(values, sensor)
            # a share of the hours: the mean over those is the masked mean over all
            masked = self.building.monthly(np.where(hours, values, 0.0), sensor)
            return masked / self.building.monthly(hours.astype(float), sensor)

        means = [mean(c) for c in columns]
        swings = [mean(c, self.day) - mean(c, self.night) for c in columns]
        return np.stack([*means, *swings], axis=1)

    def measured(self, sensor: str) -> Array:
        return self.facts(*self.building.sensor(sensor), sensor)

    def modelled(self, setting: Setting, values: dict[str, Any], sensor: str) -> Array:
        t, rh = run_setting(self.drivers, setting, {**setting.values(), **values})
        return np.stack(
            [self.facts(t[:, k], rh[:, k], sensor) for k in range(t.shape[1])], axis=2
        )

    def outdoors(self, sensor: str) -> Array:
        weather = self.building.weather
        return self.facts(
            weather.air_temperature.to_numpy(),
            weather.relative_humidity.to_numpy(),
            sensor,
        )


def fit(kind: str, houses: Sequence[House]) -> dict[str, float]:
    """Fit a kind's parameters to houses, held back by their priors."""
    setting = parse_setting(kind)
    priors = PRIORS[kind]
    names = list(priors)
    start = np.array(
        [np.log(v) if how == "times" else v for v, _, how in priors.values()]
    )
    spread = np.array([s for _, s, _ in priors.values()])
    measured = {(h, s): h.measured(s) for h in houses for s in SENSORS[kind]}
    scale = SCALE if kind == "attic" else SCALE[:3]

    def values(x: Array) -> dict[str, Any]:
        return {
            name: np.exp(x[i]) if priors[name][2] == "times" else x[i]
            for i, name in enumerate(names)
        }

    def residuals(points: Array) -> Array:
        parts = []
        for (house, sensor), due in measured.items():
            found = house.modelled(setting, values(points), sensor)
            away = (found - due[:, :, None])[:, : scale.size] / scale[None, :, None]
            parts.append(away.reshape(-1, points.shape[1]))
        parts.append((points - start[:, None]) / spread[:, None])
        return np.concatenate(parts)

    def slope(x: Array) -> Array:
        points = np.repeat(x[:, None], x.size + 1, axis=1)
        points[np.arange(x.size), np.arange(1, x.size + 1)] += 1e-3
        found = residuals(points)
        return (found[:, 1:] - found[:, :1]) / 1e-3

    done = least_squares(
        lambda x: residuals(x[:, None])[:, 0], start, slope, max_nfev=40
    )
    return {k: round(float(v), 3) for k, v in values(done.x).items()}


def rms(values: Array) -> float:
    return float(np.sqrt(np.nanmean(values**2)))


def summary(kind: str, houses: dict[str, House], values: dict[str, Any]) -> None:
    """One line a house and sensor."""
    setting = parse_setting(kind)
    for name, house in houses.items():
        for sensor in SENSORS[kind]:
            due = house.measured(sensor)
            away = house.modelled(setting, values, sensor)[:, :, 0] - due
            outside = house.outdoors(sensor) - due
            ratio = rms(away[:, 2]) / rms(outside[:, 2])
            print(
                f"  {name} {sensor:10s} T bias {away[:, 0].mean():+.2f} "
                f"rms {rms(away[:, 0]):.2f} K; "
                f"e worst {np.abs(away[:, 1]).max():.2f} hPa; "
                f"EMC bias {away[:, 2].mean():+.2f} rms {rms(away[:, 2]):.2f}, "
                f"of outdoors {ratio:.2f}"
            )


def residual_table(kind: str, houses: dict[str, House]) -> None:
    """Month by month, as docs/storage.md carries it."""
    setting = parse_setting(kind)
    sensor = SENSORS[kind][0]
    print("\n| house | month | T, K | e, hPa | EMC, % MC | measured EMC, % MC |")
    print("|---|---|---|---|---|---|")
    for name, house in houses.items():
        due = house.measured(sensor)
        away = house.modelled(setting, {}, sensor)[:, :, 0] - due
        t, rh = house.building.sensor(sensor)
        known = np.isfinite(t + rh)
        months = house.building.table.index.to_period("M")
        count = {m: np.count_nonzero(known & (months == m)) for m in months.unique()}
        shown = [m for m, n in count.items() if n >= conftest().LEAST_HOURS]
        for month, row, measured in zip(shown, away, due, strict=True):
            print(
                f"| {name} | {month} | {row[0]:+.1f} | {row[1]:+.2f} | {row[2]:+.1f} "
                f"| {measured[2]:.1f} |"
            )


def sweep(houses: dict[str, House], weeks: int = 6, every_days: int = 42) -> None:
    """Print how calibration does over start dates, judged on all other months."""
    cases = [
        ("attic", "attic_mid"),
        ("attic", "attic_top"),
        ("attic,ventilation=25,room_u=0.05,roof_u=1", "attic_mid"),
        ("attic,ventilation=1.5,room_u=0.6,roof_u=4", "attic_mid"),
        ("house", "indoor1"),
        ("house,heat_to=18,moisture_gain=6", "indoor1"),
        ("house,heat_to=24,moisture_gain=0.8", "indoor1"),
    ]
    for name, house in houses.items():
        for text, sensor in cases:
            ratios = list(
                _ratios(house, parse_setting(text), sensor, weeks, every_days)
            )
            found = np.array(ratios)
            print(
                f"{name} {sensor:10s} {text:45s} {found.size:3d} windows: EMC error "
                f"elsewhere, of as stated: median {np.median(found):.2f}, "
                f"worst {found.max():.2f}"
            )


def _ratios(
    house: House, stated: Setting, sensor: str, weeks: int, every_days: int
) -> Any:
    t_in, rh_in = house.building.sensor(sensor)
    logger = house.building.logger(sensor)

    def error(setting: Setting, hours: Array) -> float:
        t, rh = run_setting(house.drivers, setting, setting.values())
        away = np.where(hours, emc(t[:, 0], rh[:, 0]) - emc(t_in, rh_in), np.nan)
        return rms(house.building.monthly(away, sensor))

    for first in range(0, t_in.size - weeks * 168, every_days * 24):
        window = slice(first, first + weeks * 168)
        try:
            found = calibrate(logger.isel(time=window), house.building.weather, stated)
        except WeatherError as refused:
            print(f"  {first // 24}: {refused}")
            continue
        outside = np.ones(t_in.size, dtype=bool)
        outside[window] = False
        yield error(found.setting, outside) / error(stated, outside)


def main() -> None:
    """Print everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", nargs="?", choices=["fit", "sweep"], default="fit")
    read: Callable[[str], Any] = conftest().Building
    houses = {name: House(read(name)) for name in HOUSES}
    if parser.parse_args().what == "sweep":
        sweep(houses)
        return
    for kind in PRIORS:
        print(f"\n{kind}: shipped defaults")
        summary(kind, houses, {})
        for names in (HOUSES, *((n,) for n in HOUSES)):
            values = fit(kind, [houses[n] for n in names])
            print(f"{kind}: fitted to {' and '.join(names)}: {values}")
            summary(kind, houses, values)
        residual_table(kind, houses)


if __name__ == "__main__":
    main()
