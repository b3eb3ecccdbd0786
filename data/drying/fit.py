"""Fit the drying factor of every species to published air-drying times.

Run by hand (``python data/drying/fit.py``): writes the packaged drying_factors.csv and
the table of docs/boards.md between its marks. A minute or two.

Published: days for green 1-inch lumber to reach 20 % MC in the open yard, from the
least (southern place, stacked in spring or early summer) to the most (northern place,
autumn or early winter): Wood Handbook chapter 13, from memory, about nine cells in ten
sure. One factor a species cannot do more than place that range. Other evidence, where
there is any (red oak in the kiln, what practice expects), decides within it.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import xarray as xr

from emcforecast.physics.moist_air import saturation_vapour_pressure
from emcforecast.physics.sorption import equilibrium_humidity
from emcforecast.physics.transfer import stack_transfer
from emcforecast.weather.monthly import hourly_from_monthly
from emcforecast.weather.series import make_series
from emcforecast.wood.board import Board
from emcforecast.wood.ensemble import Airs, prepare_airs, run_ensemble
from emcforecast.wood.species import Species, all_species

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
TABLE = ROOT / "emcforecast" / "tables" / "drying_factors.csv"
PAGE = ROOT / "docs" / "boards.md"
MARKS = "<!-- fit -->", "<!-- end of fit -->"

TRANSFER = 1e-3
"""m/s: the open yard."""
THICKNESS = 27.0
"""mm: inch lumber as it is sawn."""
TARGET = 20.0
# Where a wood is dried: its southern and its northern place.
PLACES = {
    "east": ("Charleston WV", "Madison WI"),
    "south": ("Jackson MS", "Charleston WV"),
    "inland west": ("Boise ID", "Missoula MT"),
    "pacific": ("Portland OR", "Portland OR"),
}
SPRING = np.arange(90, 182, 13)
"""Days of the year: 1 April to 30 June."""
AUTUMN = np.arange(244, 365, 15)
"""1 September to 31 December."""
FACTORS = np.geomspace(0.06, 1.6, 32)
"""Above 1.6 an inch of wood dries as fast as its surface can: nothing more to find."""
DAYS = 620
NEAR = 0.2
"""Ends count as met within this share."""
KILN = {"wood": "oak, northern red", "near": 0.3, "thickness": 25.4, "start": 80.0}
"""Red oak's kiln time constant τ = L^1.52/(0.0575 + 0.00142 p) days, L inches, p the
saturation pressure in mmHg: (M - Me)/(M0 - Me) = exp(-t/τ) (Tschernitz and Simpson,
quoted in an encyclopaedia, read as an excerpt; days is our reading)."""
KILN_EMC, KILN_AIR = 8.0, 2.0
"""% MC and m/s, usual in a kiln (common practice, no source)."""


@dataclass(frozen=True)
class Fit:
    """One published range and what the model makes of it."""

    wood: str
    species: str
    part: str
    least: float
    most: float
    factor: float
    fitted_least: float
    fitted_most: float
    green_known: bool

    @property
    def ends(self) -> tuple[float, float]:
        """Predicted over published days at both ends."""
        return self.fitted_least / self.least, self.fitted_most / self.most

    @property
    def near(self) -> int:
        """Ends within 20 %."""
        return sum(abs(ratio - 1.0) <= NEAR for ratio in self.ends)


def read(name: str) -> list[dict[str, str]]:
    """Read a table that lies beside this file."""
    with (HERE / name).open(encoding="utf-8", newline="") as handle:
        return list(csv.DictReader(handle))


@cache
def airs() -> tuple[tuple[str, ...], Airs]:
    """Return the places and their hourly air, rebuilt from monthly means."""
    rows = read("climates.csv")
    places = tuple(dict.fromkeys(row["place"] for row in rows))
    month = np.arange("2001-01", "2002-01", dtype="datetime64[M]")
    series: list[xr.Dataset] = []
    for place in places:
        own = [row for row in rows if row["place"] == place]
        monthly = make_series(
            month.astype("datetime64[ns]"),
            {
                "air_temperature": [float(row["temperature"]) for row in own],
                "relative_humidity": [float(row["relative_humidity"]) for row in own],
            },
            step="month",
            kind="normals",
            source=place,
        )
        hourly = hourly_from_monthly(monthly)
        series.append(hourly.assign_attrs(surface_transfer=TRANSFER, rain_film=0.0))
    return places, prepare_airs(series)


def days_to_target(
    board: Board,
    place: str,
    stacked: np.ndarray,
    factors: np.ndarray,
    days: int = DAYS,
) -> np.ndarray:
    """Days to the target, shape (factors, stackings); NaN where it is not reached."""
    places, air = airs()
    factor, start = np.meshgrid(factors, 24 * stacked, indexing="ij")
    run = run_ensemble(
        air,
        board,
        air_index=np.full(factor.size, places.index(place)),
        start_hour=start.ravel(),
        steps=24 * days,
        factor=factor.ravel() / board.factor.value,
        wrap=True,
    ).mean
    below = run <= TARGET
    day = np.maximum(below.argmax(axis=0), 1)
    lane = np.arange(factor.size)
    above, under = run[day - 1, lane], run[day, lane]
    exact = day - 1 + (above - TARGET) / (above - under)
    return np.where(below.any(axis=0), exact, np.nan).reshape(factor.shape)


def ends(board: Board, region: str, factors: np.ndarray) -> tuple[np.ndarray, ...]:
    """Least and most days for each factor."""
    south, north = PLACES[region]
    least = days_to_target(board, south, SPRING, factors).min(axis=1)
    most = days_to_target(board, north, AUTUMN, factors).max(axis=1)
    return least, most


def practice(species: Species, factors: np.ndarray) -> list[np.ndarray]:
    """Distance of each factor from what practice expects, 1 at the range's ends."""
    rows = [row for row in read("practice.csv") if row["species"] == species.name]
    found = []
    for row in rows:
        board = Board(species, float(row["thickness_mm"]))
        stacked = np.datetime64(f"2001-{row['stacked']}") - np.datetime64("2001-01-01")
        days = days_to_target(
            board, row["place"], np.array([int(stacked.astype(int))]), factors, 1500
        )[:, 0]
        low, high = np.log(float(row["days_low"])), np.log(float(row["days_high"]))
        found.append(np.abs(np.log(days) - 0.5 * (low + high)) / (0.5 * (high - low)))
    return found


def kiln(factors: np.ndarray) -> list[np.ndarray]:
    """Distance of red oak's kiln times from the published ones, 1 at 30 %."""
    found = []
    oak = {one.name: one for one in all_species()}[str(KILN["wood"])]
    board = Board(oak, float(KILN["thickness"]))
    start = float(KILN["start"])
    for fahrenheit in (95.0, 110.0, 130.0):
        celsius = (fahrenheit - 32.0) / 1.8
        humidity = float(equilibrium_humidity(celsius, KILN_EMC))
        hours = np.full(24 * 90, 1.0)
        air = make_series(
            np.datetime64("2001-01-01", "ns") + np.arange(hours.size).astype("m8[h]"),
            {
                "air_temperature": celsius * hours,
                "relative_humidity": humidity * hours,
            },
            step="hour",
            kind="observed",
            source="a kiln",
        ).assign_attrs(surface_transfer=float(stack_transfer(KILN_AIR)), rain_film=0.0)
        mean = run_ensemble(
            prepare_airs([air]),
            board,
            air_index=np.zeros(factors.size, dtype=int),
            start_hour=np.zeros(factors.size, dtype=int),
            steps=hours.size - 1,
            start_mc=start,
            factor=factors / board.factor.value,
            every=1,
        ).mean
        days = np.maximum((mean <= TARGET).argmax(axis=0), 1) / 24.0
        mercury = float(saturation_vapour_pressure(celsius)) / 133.322
        tau = 1.0 / (0.0575 + 0.00142 * mercury)
        published = -tau * np.log((TARGET - KILN_EMC) / (start - KILN_EMC))
        found.append(np.abs(np.log(days / published)) / np.log(1.0 + KILN["near"]))
    return found


FINE = np.linspace(np.log(FACTORS[0]), np.log(FACTORS[-1]), 600)


def on_fine(values: np.ndarray) -> np.ndarray:
    """Interpolate over the logarithm of the factor."""
    return np.interp(FINE, np.log(FACTORS), values)


def evidence(species: Species) -> list[np.ndarray]:
    """Return what else is known of a species, as distances on the fine factors."""
    other = practice(species, FACTORS)
    if species.name == KILN["wood"]:
        other += kiln(FACTORS)
    return [on_fine(one) for one in other]


def fit(row: dict[str, str]) -> Fit:
    """Find the factor that meets most ends, then the least bad against all evidence."""
    species = {one.name: one for one in all_species()}[row["species"]]
    board = Board(species, THICKNESS, row["part"])  # type: ignore[arg-type]
    published = float(row["days_min"]), float(row["days_max"])
    away = np.array(
        [
            on_fine(np.log(days)) - np.log(one)
            for days, one in zip(
                ends(board, row["region"], FACTORS), published, strict=True
            )
        ]
    )
    # A hair inside, for the interpolation between the factors tried.
    inside = np.log(1.0 - NEAR + 0.004), np.log(1.0 + NEAR - 0.004)
    near = ((away > inside[0]) & (away < inside[1])).sum(axis=0)
    all_away = [np.abs(one) / np.log(1.0 + NEAR) for one in away] + evidence(species)
    worst = np.nan_to_num(np.max(all_away, axis=0), nan=99.0)
    best = np.lexsort((worst, -near))[0]
    factor = round(float(np.exp(FINE[best])), 3)
    found = ends(board, row["region"], np.array([factor]))
    known = species.green_heartwood is not None or species.green_sapwood is not None
    return Fit(
        row["wood"],
        row["species"],
        row["part"],
        *published,
        factor,
        float(found[0][0]),
        float(found[1][0]),
        known,
    )


def by_practice_only(fitted: set[str]) -> list[tuple[str, float]]:
    """Fit the species that practice knows but the published table does not."""
    found = []
    for species in all_species():
        if species.name in fitted:
            continue
        distances = practice(species, FACTORS)
        if distances:
            worst = np.nan_to_num(
                np.max([on_fine(one) for one in distances], axis=0), nan=99.0
            )
            found.append((species.name, round(float(np.exp(FINE[worst.argmin()])), 3)))
    return found


def spread_of(one: Fit) -> float:
    """Tell the likely error: half again, more where an end does not fit."""
    worst = max(abs(np.log(ratio)) for ratio in one.ends)
    return round(max(1.5, float(np.exp(worst))), 2)


def within(fits: list[Fit], thickness: float) -> tuple[int, int]:
    """Count ends within 20 % for boards of a thickness (mm), and how many there are."""
    near = 0
    species = {one.name: one for one in all_species()}
    rows = {row["wood"]: row for row in read("published_days.csv")}
    for one in fits:
        board = Board(species[one.species], thickness, one.part)  # type: ignore[arg-type]
        found = ends(board, rows[one.wood]["region"], np.array([one.factor]))
        ratios = found[0][0] / one.least, found[1][0] / one.most
        near += sum(abs(ratio - 1.0) <= NEAR for ratio in ratios)
    return near, 2 * len(fits)


def words_of(one: Fit) -> str:
    """Say how one factor was found."""
    fits = {2: "both ends", 1: "one end only", 0: "neither end"}[one.near]
    return (
        f"fitted to published {one.least:.0f} to {one.most:.0f} days: "
        f"{one.fitted_least:.0f} to {one.fitted_most:.0f}, {fits} within 20 %"
    )


def table_rows(fits: list[Fit]) -> list[list[str]]:
    """Return the packaged table: fitted, by relation, and the defaults."""
    gravity = {one.name: one.basic_gravity for one in all_species()}
    kinds = {one.name: one.kind for one in all_species()}
    rows: list[list[str]] = []
    whole: dict[str, tuple[float, float, str]] = {}
    for name in dict.fromkeys(one.species for one in fits):
        own = [one for one in fits if one.species == name]
        if len(own) == 1:
            whole[name] = own[0].factor, spread_of(own[0]), words_of(own[0])
            continue
        mean = float(np.exp(np.mean([np.log(one.factor) for one in own])))
        parts = " and ".join(one.wood for one in own)
        spread = max(spread_of(one) for one in own)
        whole[name] = round(mean, 3), spread, f"mean of {parts}"
        for one in own:
            row = [name, one.part, str(one.factor), str(spread_of(one)), "0"]
            rows.append([*row, words_of(one)])
    rows += [[n, "mixed", str(f), str(s), "0", w] for n, (f, s, w) in whole.items()]
    done = set(whole)
    for name, factor in by_practice_only(done):
        done.add(name)
        how = "no published range: fitted to what practice expects"
        rows.append([name, "mixed", str(factor), "1.6", "0", how])
    for species in all_species():
        kin = [
            n for n in whole if n != species.name and n.split(",")[0] == species.group
        ]
        if species.name in done or not kin:
            continue
        logs = np.log([whole[n][0] for n in kin])
        spread = max(1.6, float(np.exp(logs.std(ddof=1) if len(kin) > 1 else 0.0)))
        how = f"no published range: mean of the {len(kin)} of {species.group} fitted"
        rows.append(
            [
                species.name,
                "mixed",
                f"{np.exp(logs.mean()):.3f}",
                f"{spread:.2f}",
                "0",
                how,
            ]
        )
    for kind in ("hardwood", "softwood"):
        own_names = [n for n in whole if kinds[n] == kind]
        x = np.array([gravity[n] - 0.5 for n in own_names])
        y = np.log([whole[n][0] for n in own_names])
        slope, level = np.polyfit(x, y, 1)
        left = y - (level + slope * x)
        spread = float(np.exp(left.std(ddof=2)))
        how = f"no published range: from specific gravity, over {len(x)} {kind}s fitted"
        rows.append(
            [
                f"any {kind}",
                "mixed",
                f"{np.exp(level):.3f}",
                f"{spread:.2f}",
                f"{slope:.2f}",
                how,
            ]
        )
    return rows


def page_table(fits: list[Fit]) -> str:
    """Return the comparison as Markdown."""
    known = [one for one in fits if one.green_known]
    near = sum(one.near for one in known)
    lines = [
        f"{near} of {2 * len(known)} ends within 20 % "
        f"({100.0 * near / (2 * len(known)):.0f} %) where the green moisture is "
        "published; a dagger marks woods where a stand-in was used.",
        "",
        "| wood | factor | published days | predicted days | ends within 20 % |",
        "|---|---|---|---|---|",
    ]
    lines += [
        f"| {one.wood}{'' if one.green_known else ' †'} | {one.factor:.2f} | "
        f"{one.least:.0f} to {one.most:.0f} | "
        f"{one.fitted_least:.0f} to {one.fitted_most:.0f} | {one.near} |"
        for one in fits
    ]
    return "\n".join(lines)


def main() -> None:
    """Fit all, write the table and the page."""
    fits = []
    for row in read("published_days.csv"):
        if row["species"]:
            fits.append(fit(row))
            one = fits[-1]
            print(f"{one.wood:22s} {one.factor:6.3f}  {words_of(one)}", flush=True)
    known = [one for one in fits if one.green_known]
    for thickness in (25.4, 26.2, THICKNESS, 28.6):
        print(thickness, "mm, ends within 20 %:", *within(known, thickness))
    with TABLE.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        writer.writerow(["species", "part", "factor", "spread", "gravity_slope", "how"])
        writer.writerows(table_rows(fits))
    if PAGE.is_file():
        text = PAGE.read_text(encoding="utf-8")
        head, tail = text.split(MARKS[0])[0], text.split(MARKS[1])[-1]
        middle = f"{MARKS[0]}\n\n{page_table(fits)}\n\n{MARKS[1]}"
        PAGE.write_text(head + middle + tail, encoding="utf-8")


if __name__ == "__main__":
    main()
