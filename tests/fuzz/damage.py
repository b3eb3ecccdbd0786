"""Damage of a known good year, by class: read rightly, said, refused, or silent.

``python tests/fuzz/damage.py`` prints a row for each class. Silent: the driest month's
mean equilibrium moisture moves by over 0.2 % MC and nothing is said that is not said
of the undamaged year.
"""

from __future__ import annotations

import random
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

import numpy as np

from emcforecast import equilibrium_moisture_content
from emcforecast.errors import InputError
from emcforecast.weather.hints import Hints
from emcforecast.weather.mend.gaps import fill_gaps
from emcforecast.weather.read import read_bytes
from emcforecast.weather.repairs import repairs_of
from emcforecast.weather.years import require_year

HERE = Hints(latitude=45.0, longitude=8.0)
SEEDS = 10
HOURS = np.arange(np.datetime64("2021-01-01T00"), np.datetime64("2022-01-01T00"))
Rows = list[list[str]]


def good() -> Rows:
    """Rows of a year: header, then time, °C, %; fronts of some days, noon at 12 UTC."""
    rng = np.random.default_rng(3)
    slow = np.convolve(rng.normal(0.0, 5.0, 370), np.ones(3) / 3, "valid")
    rows = [["time_utc", "temp_c", "rh_pct"]]
    for k, at in enumerate(HOURS):
        day = np.cos(2 * np.pi * (k % 24 - 15) / 24)
        t = 11 - 10 * np.cos(2 * np.pi * k / 8760) + 4 * day + slow[k // 24]
        h = 72 + 8 * np.cos(2 * np.pi * k / 8760) - 15 * day + slow[(k // 24 + 3) % 365]
        shown = str(at).replace("T", " ") + ":00"
        rows.append([shown, f"{t:.1f}", f"{min(max(h, 5), 100):.0f}"])
    return rows


def _each(rows: Rows, change: Callable[[int, list[str]], list[str]]) -> Rows:
    return [rows[0], *(change(k, list(row)) for k, row in enumerate(rows[1:]))]


def _fahrenheit_name(rows: Rows, rng: random.Random) -> Rows:
    return [["time_utc", "temp_f", "rh_pct"], *rows[1:]]


def _fraction(rows: Rows, rng: random.Random) -> Rows:
    begin = rng.randrange(500, 7000)
    end = begin + rng.randrange(200, 1500)

    def change(k: int, row: list[str]) -> list[str]:
        return [*row[:2], f"{int(row[2]) / 100:.2f}"] if begin <= k < end else row

    return _each(rows, change)


def _daily(rows: Rows, rng: random.Random) -> Rows:
    at = rng.randrange(24)
    return _each(rows, lambda k, row: [row[0], *rows[1 + k // 24 * 24 + at][1:]])


def _swapped(rows: Rows, rng: random.Random) -> Rows:
    def change(k: int, row: list[str]) -> list[str]:
        date = row[0]
        if int(date[8:10]) <= 12:
            date = f"{date[:5]}{date[8:10]}-{date[5:7]}{date[10:]}"
        return [date, *row[1:]]

    return _each(rows, change)


def _shifted(rows: Rows, rng: random.Random) -> Rows:
    by = rng.choice((-9, -7, -6, 6, 7, 9, 12))
    return _each(rows, lambda k, row: [row[0], *rows[1 + (k + by) % 8760][1:]])


def _stuck(rows: Rows, rng: random.Random) -> Rows:
    begin = rng.randrange(8000)
    many = rng.randrange(200, 700)
    held = rows[1 + begin][1:]
    return _each(
        rows, lambda k, row: [row[0], *held] if begin <= k < begin + many else row
    )


def _cut(rows: Rows, rng: random.Random) -> Rows:
    return rows[: rng.randrange(2, 8700)]


def _shuffled(rows: Rows, rng: random.Random) -> Rows:
    body = rows[1:]
    rng.shuffle(body)
    return [rows[0], *body]


def _sentinels(rows: Rows, rng: random.Random) -> Rows:
    put = rng.choice(("-9999", "-999.9", "99999", "6999"))
    gone = set(rng.sample(range(8760), 300))
    return _each(rows, lambda k, row: [row[0], put, row[2]] if k in gone else row)


def _comma(rows: Rows, rng: random.Random) -> Rows:
    return _each(rows, lambda k, row: [row[0], row[1].replace(".", ","), row[2]])


def _columns(rows: Rows, rng: random.Random) -> Rows:
    return [[row[0], row[2], row[1]] if n else row for n, row in enumerate(rows)]


def _doubled(rows: Rows, rng: random.Random) -> Rows:
    begin = rng.randrange(7000)
    return [*rows, *rows[begin : begin + 700]]


def _offset(rows: Rows, rng: random.Random) -> Rows:
    by = rng.choice((-8, -5, 5, 8))
    return _each(rows, lambda k, row: [*row[:2], str(min(100, int(row[2]) + by))])


CLASSES: dict[str, Callable[[Rows, random.Random], Rows]] = {
    "°C under a °F name": _fahrenheit_name,
    "humidity turns into a fraction": _fraction,
    "daily values repeated by the hour": _daily,
    "day and month swapped": _swapped,
    "clock shifted by 6 to 12 h": _shifted,
    "sensor stuck for over eight days": _stuck,
    "cut off": _cut,
    "rows in any order": _shuffled,
    "sentinels in place of values": _sentinels,
    "decimal comma between commas": _comma,
    "two columns exchanged": _columns,
    "a stretch of rows twice": _doubled,
    "humidity sensor off by 5 to 8 %": _offset,
}


def driest(data: bytes) -> tuple[float, set[str]]:
    """Return the driest month's mean EMC, % MC, and what is said."""
    series = fill_gaps(read_bytes(data, "year.csv", HERE))
    require_year(series)
    said = {item.kind.name for item in repairs_of(series)}
    content = equilibrium_moisture_content(
        series["air_temperature"].to_numpy(), series["relative_humidity"].to_numpy()
    )
    month = series["time"].to_numpy().astype("datetime64[M]").astype(int) % 12
    count = np.bincount(month, minlength=12)
    mean = np.bincount(month, content, minlength=12) / np.maximum(count, 1)
    return float(mean[count > 300].min()) if (count > 300).any() else np.nan, said


def outcome(data: bytes, floor: float, usual: set[str]) -> str:
    """Return what came of a damaged year."""
    try:
        found, said = driest(data)
    except InputError:
        return "refused"
    if said - usual:
        return "said"
    return "silent" if not abs(found - floor) <= 0.2 else "right"


def _bytes(rows: Rows) -> bytes:
    return "\n".join(",".join(row) for row in rows).encode()


def counts(seeds: int = SEEDS) -> dict[str, Counter[str]]:
    """Return the outcomes of every class of damage."""
    rows = good()
    floor, usual = driest(_bytes(rows))
    return {
        name: Counter(
            outcome(_bytes(damage(rows, random.Random(seed))), floor, usual)
            for seed in range(seeds)
        )
        for name, damage in CLASSES.items()
    }


if __name__ == "__main__":
    for name, found in counts().items():
        print(f"{name:36} {dict(found)}")
