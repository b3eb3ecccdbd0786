"""Fit the drying factor of every species to published air-drying times.

Run by hand (``python data/drying/fit.py``): writes the packaged drying_factors.csv and
the tables of docs/boards.md between their marks. Some minutes.

Published: days for green 1-inch lumber to reach 20 % MC in the open yard, from the
least (southern place, stacked in spring or early summer) to the most (northern place,
autumn or early winter): Wood Handbook chapter 13, from memory, about nine cells in ten
sure. One factor a species cannot do more than place that range; the width of the range
is the model's own. Where other evidence exists it has the same say as an end.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from drying_days import NEAR, Published, ends, published
from drying_evidence import evidence

from emcforecast.wood.species import Species, all_species

ROOT = Path(__file__).resolve().parents[2]
TABLE = ROOT / "emcforecast" / "tables" / "drying_factors.csv"
FACTORS = np.geomspace(0.02, 3.0, 36)
"""Above 3 an inch of wood dries as fast as its surface can: nothing more to find."""
FINE = np.linspace(np.log(FACTORS[0]), np.log(FACTORS[-1]), 600)
HAIR = 0.005
"""Kept clear of the 20 % at first, for the interpolation between the factors tried."""
MOST_NAMES = 3
NEARBY = 0.06
"""How far about that factor the model is then run itself, as a logarithm."""


@dataclass(frozen=True)
class Fit:
    """One published range, the factor found for it and what it then gives."""

    row: Published
    factor: float
    least: float
    most: float

    @property
    def ratios(self) -> tuple[float, float]:
        """Predicted over published days at both ends."""
        return self.least / self.row.least, self.most / self.row.most

    @property
    def near(self) -> int:
        """Ends within 20 %."""
        return sum(abs(ratio - 1.0) <= NEAR for ratio in self.ratios)

    @property
    def spread(self) -> float:
        """The likely error of the factor: half again, more where an end misses."""
        worst = max(abs(np.log(ratio)) for ratio in self.ratios)
        return round(max(1.5, float(np.exp(worst))), 2)

    @property
    def words(self) -> str:
        """How the factor was found."""
        fits = {2: "both ends", 1: "one end only", 0: "neither end"}[self.near]
        return (
            f"fitted to published {self.row.least:.0f} to {self.row.most:.0f} days: "
            f"{self.least:.0f} to {self.most:.0f}, {fits} within 20 %"
        )


def on_fine(values: np.ndarray) -> np.ndarray:
    """Interpolate over the logarithm of the factor."""
    return np.interp(FINE, np.log(FACTORS), values)


@dataclass(frozen=True)
class Curves:
    """Days of one wood at both ends, over the fine factors."""

    row: Published
    least: np.ndarray
    most: np.ndarray

    @property
    def away(self) -> np.ndarray:
        """Logarithm of predicted over published, shape (2, factors)."""
        return np.array(
            [
                np.log(self.least / self.row.least),
                np.log(self.most / self.row.most),
            ]
        )

    def at(self, factor: float) -> tuple[float, float]:
        """Days at both ends for one factor."""
        where = np.log(factor)
        return (
            float(np.interp(where, FINE, self.least)),
            float(np.interp(where, FINE, self.most)),
        )

    def from_end(self, end: int) -> float:
        """Return the factor that meets one end alone."""
        return float(np.exp(FINE[np.nanargmin(np.abs(self.away[end]))]))


def curves(row: Published) -> Curves:
    """Work out a wood's days for all factors."""
    least, most = ends(row.board, row.region, FACTORS)
    return Curves(row, *(np.exp(on_fine(np.log(days))) for days in (least, most)))


def choose(distances: list[np.ndarray]) -> float:
    """Return the factor that meets most of the evidence, then the least bad one.

    Distances are 1 where a piece of evidence stops being met.
    """
    return round(float(np.exp(FINE[best_of(distances)])), 3)


def best_of(distances: list[np.ndarray]) -> int:
    """Return where most of the evidence is met and the worst of it is least bad."""
    table = np.nan_to_num(np.array(distances), nan=99.0)
    met = (table <= 1.0).sum(axis=0)
    return int(np.lexsort((table.max(axis=0), -met))[0])


def range_distances(one: Curves, hair: float = HAIR) -> list[np.ndarray]:
    """Distance of each factor from both ends, 1 at 20 % or a hair inside."""
    high = np.log(1.0 + NEAR - hair)
    low = -np.log(1.0 - NEAR + hair)
    return [np.where(end > 0.0, end / high, -end / low) for end in one.away]


def fit(one: Curves, *, alone: bool = False) -> Fit:
    """Fit a factor to the range, and unless `alone` to all that is known beside."""
    distances = range_distances(one)
    if not alone:
        distances += [on_fine(d) for d in evidence(one.row.species, FACTORS)]
    factor = choose(distances)
    return Fit(one.row, factor, *one.at(factor))


def exact(one: Fit) -> Fit:
    """Run the model about the factor, without interpolation, and settle there."""
    about = np.round(one.factor * np.exp(np.linspace(-NEARBY, NEARBY, 9)), 3)
    least, most = ends(one.row.board, one.row.region, about)
    away = range_distances(Curves(one.row, least, most), hair=0.0)
    known = evidence(one.row.species, about)
    best = best_of(away + known)
    return Fit(one.row, float(about[best]), float(least[best]), float(most[best]))


def whole_woods(fits: list[Fit]) -> dict[str, tuple[float, float, str]]:
    """Factor, spread and origin by species, parts of a tree taken together."""
    found: dict[str, tuple[float, float, str]] = {}
    for name in dict.fromkeys(one.row.species.name for one in fits):
        own = [one for one in fits if one.row.species.name == name]
        if len(own) == 1:
            found[name] = own[0].factor, own[0].spread, own[0].words
            continue
        mean = float(np.exp(np.mean([np.log(one.factor) for one in own])))
        parts = " and ".join(one.row.wood for one in own)
        spread = max(one.spread for one in own)
        found[name] = round(mean, 3), spread, f"mean of {parts}"
    return found


def by_gravity(factors: dict[str, float], kind: str) -> tuple[float, float, int]:
    """Level at 0.5 and slope of ln factor by specific gravity, and over how many."""
    own = [
        species
        for species in all_species()
        if species.kind == kind and species.name in factors
    ]
    x = np.array([species.basic_gravity - 0.5 for species in own])
    slope, level = np.polyfit(x, np.log([factors[one.name] for one in own]), 1)
    return float(level), float(slope), len(own)


def from_others(species: Species, factors: dict[str, float]) -> tuple[float, float]:
    """Logarithm of a factor from those of other woods: by gravity, and as shipped.

    Shipped is the mean of its fitted relations and of the value by gravity, each
    counting one.
    """
    others = {name: value for name, value in factors.items() if name != species.name}
    level, slope, _ = by_gravity(others, species.kind)
    plain = level + slope * (species.basic_gravity - 0.5)
    kin = relations(species, others)
    return plain, float(np.mean([plain, *(np.log(others[name]) for name in kin)]))


def relations(species: Species, factors: dict[str, float]) -> list[str]:
    """Return the fitted woods of the same group."""
    return [
        name
        for name in factors
        if name != species.name and name.split(",")[0] == species.group
    ]


def names_of(kin: list[str]) -> str:
    """Name some relations, or count them where they are many."""
    spoken = {species.name: species.spoken for species in all_species()}
    if len(kin) > MOST_NAMES:
        return f"{len(kin)} fitted {kin[0].split(',')[0]}s"
    return ", ".join(spoken[name] for name in kin)


def error_of_default(factors: dict[str, float], which: int, kind: str) -> float:
    """Return the usual error of a default, each wood left out in turn, × or ÷.

    Of the wood's diffusion as a whole: two fifths of the factor's, whose weight below
    fibre saturation is a quarter (days change with both in that proportion).
    """
    found = [
        from_others(species, factors)[which] - np.log(factors[species.name])
        for species in all_species()
        if species.name in factors
        and (species.kind == kind if kind else relations(species, factors))
    ]
    return float(np.exp(0.4 * np.sqrt(np.mean(np.square(found)))))


def row_of(
    name: str, part: str, factor: float, spread: float, how: str, slope: float = 0.0
) -> list[str]:
    """Return one row of the packaged table."""
    bend = f"{slope:.2f}" if slope else "0"
    known = "no" if how.startswith("from ") else "yes"
    return [name, part, f"{factor:.3f}", f"{spread:.2f}", bend, known, how]


def table_rows(fits: list[Fit]) -> list[list[str]]:
    """Return the packaged table: fitted, by relation, and the defaults."""
    whole = whole_woods(fits)
    factors = {name: factor for name, (factor, _, _) in whole.items()}
    parted = [one for one in fits if one.row.part != "mixed"]
    rows = [
        row_of(one.row.species.name, one.row.part, one.factor, one.spread, one.words)
        for one in parted
    ]
    rows += [row_of(n, "mixed", f, s, how) for n, (f, s, how) in whole.items()]
    kin_error = error_of_default(factors, 1, "")
    for species in all_species():
        if species.name in whole:
            continue
        kin = relations(species, factors)
        if kin:
            how = f"from {names_of(kin)} and its own specific gravity"
            value = float(np.exp(from_others(species, factors)[1]))
            rows.append(row_of(species.name, "mixed", value, kin_error, how))
    for kind in ("hardwood", "softwood"):
        level, slope, count = by_gravity(factors, kind)
        how = f"from its specific gravity, as in {count} fitted {kind}s"
        spread = error_of_default(factors, 0, kind)
        value = float(np.exp(level))
        rows.append(row_of(f"any {kind}", "mixed", value, spread, how, slope))
    return rows


def main() -> None:
    """Fit all, write the table and the page."""
    from drying_page import write_page

    every = [curves(row) for row in published()]
    fits = []
    for one in every:
        fits.append(exact(fit(one)))
        print(f"{one.row.wood:22s} {fits[-1].factor:6.3f}  {fits[-1].words}")
    with TABLE.open("w", encoding="utf-8", newline="") as handle:
        writer = csv.writer(handle, lineterminator="\n")
        names = "species part factor spread gravity_slope published how"
        writer.writerow(names.split())
        writer.writerows(table_rows(fits))
    write_page(every, fits)


if __name__ == "__main__":
    main()
