"""The tables of docs/boards.md: what was fitted, and what was foretold."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
from drying_days import (
    AUTUMN,
    NEAR,
    PLACES,
    SPRING,
    THICKNESS,
    TRANSFER,
    Published,
    days_to_target,
    ends,
    published,
    read,
    species_by_name,
)
from drying_evidence import (
    KILN_FAHRENHEIT,
    KILN_WOOD,
    enters_fit,
    kiln_ratios,
    practice_days,
)
from drying_thick import NEAR as THICK_NEAR
from drying_thick import ratios
from fit import FACTORS, Curves, Fit, fit, from_others, on_fine, whole_woods

PAGE = Path(__file__).resolve().parents[2] / "docs" / "boards.md"
Ratios = list[tuple[float, float]]


def within(values: Iterable[float], limit: float = NEAR) -> str:
    """Tell how many ratios are within 20 % and how far off they are in the middle."""
    ratios = np.array(list(values))
    near = int((np.abs(ratios - 1.0) <= limit).sum())
    off = float(np.exp(np.nanmedian(np.abs(np.log(ratios)))))
    share = 100.0 * near / ratios.size
    return f"{near} of {ratios.size} ({share:.0f} %) | {off:.2f}"


def other_end(one: Curves) -> tuple[float, float]:
    """Least foretold from the most, and most foretold from the least, days."""
    return one.at(one.from_end(1))[0], one.at(one.from_end(0))[1]


def left_out(one: Curves, fits: list[Fit]) -> tuple[float, float]:
    """Return a wood's factors from the others: by gravity alone, as shipped."""
    species = one.row.species
    others = [other for other in fits if other.row.species.name != species.name]
    factors = {name: values[0] for name, values in whole_woods(others).items()}
    plain, shipped = np.exp(from_others(species, factors))
    return limited(plain), limited(shipped)


def limited(factor: float) -> float:
    """Keep a factor among those that were tried."""
    return float(np.clip(factor, FACTORS[0], FACTORS[-1]))


def days(pair: tuple[float, float]) -> str:
    """Two numbers of days."""
    return f"{pair[0]:.0f} to {pair[1]:.0f}"


def wood_table(every: list[Curves], fits: list[Fit]) -> list[str]:
    """One line a wood."""
    lines = [
        "| wood | factor | published days | fitted | ends within 20 % | each end from "
        "the other | from gravity and the other woods |",
        "|---|---|---|---|---|---|---|",
    ]
    for curve, one in zip(every, fits, strict=True):
        foretold = curve.at(left_out(curve, fits)[0])
        dagger = "" if one.row.green_known else " †"
        lines.append(
            f"| {one.row.wood}{dagger} | {one.factor:.2f} | "
            f"{days((one.row.least, one.row.most))} | {days((one.least, one.most))} | "
            f"{one.near} | {days(other_end(curve))} | {days(foretold)} |"
        )
    return lines


def ratios_of(row: Published, pair: tuple[float, float]) -> tuple[float, float]:
    """Predicted over published days."""
    return pair[0] / row.least, pair[1] / row.most


def summary(every: list[Curves], fits: list[Fit]) -> list[str]:
    """Count the ends that are fitted, and those that are foretold."""
    pairs = [
        (curve, one)
        for curve, one in zip(every, fits, strict=True)
        if one.row.green_known
    ]
    alone = [fit(curve, alone=True) for curve, _ in pairs]

    def over(of: Callable[[Curves], tuple[float, float]]) -> list[float]:
        return [r for curve, _ in pairs for r in ratios_of(curve.row, of(curve))]

    def default(kind: int) -> list[float]:
        return over(lambda c: c.at(left_out(c, fits)[kind]))

    width = [
        (one.most / one.least) / (one.row.most / one.row.least) for _, one in pairs
    ]
    counted = {
        "fitted (factors as shipped)": [r for _, one in pairs for r in one.ratios],
        "fitted to the ranges alone, no kiln and no practice": [
            r for one in alone for r in one.ratios
        ],
        "foretold: each end by the factor of the other": over(other_end),
        "foretold: specific gravity, factors of all other woods": default(0),
        "foretold: as for woods without a range, from all other woods": default(1),
    }
    return [
        "| ends | within 20 % | middle error, × or ÷ |",
        "|---|---|---|",
        *(f"| {name} | {within(ratios)} |" for name, ratios in counted.items()),
        f"| width of the range, most over least, within half | {within(width, 0.5)} |",
    ]


def other_evidence(every: list[Curves], fits: list[Fit]) -> list[str]:
    """Tell what factors that saw the ranges alone say of the kiln and of practice."""
    alone = {c.row.species.name: fit(c, alone=True).factor for c in every}
    shipped = {one.row.species.name: one.factor for one in fits}
    lines = [
        "| check | asked | foretold from the ranges alone | as shipped |",
        "|---|---|---|---|",
    ]
    both = np.array([alone[KILN_WOOD], shipped[KILN_WOOD]])
    for fahrenheit, ratio in zip(KILN_FAHRENHEIT, kiln_ratios(both), strict=True):
        lines.append(
            f"| red oak kiln, {fahrenheit:.0f} °F, over published | 0.77 to 1.3 | "
            f"{ratio[0]:.2f} | {ratio[1]:.2f} |"
        )
    for row in read("practice.csv"):
        name = row["species"]
        if name not in alone:
            continue
        found = practice_days(row, np.array([alone[name], shipped[name]]))
        lines.append(
            f"| {species_by_name()[name].spoken}, {row['thickness_mm']} mm, "
            f"stacked {row['stacked']}, "
            f"{row['place'].removeprefix('practice: ')} | "
            f"{row['days_low']} to {row['days_high']} | {found[0]:.0f} | "
            f"{found[1]:.0f}{'' if enters_fit(row) else ', foretold'} |"
        )
    return lines


def refitted(
    thickness: float = THICKNESS,
    transfer: float = TRANSFER,
    east: tuple[tuple[str, ...], tuple[str, ...]] | None = None,
) -> int:
    """Count the ends met when the inputs are others and every factor is refitted."""
    near = 0
    for row in published():
        if not row.green_known:
            continue
        board = row.board_of(thickness)
        if east is not None and row.region == "east":
            least = days_to_target(board, east[0][0], SPRING, FACTORS).min(axis=1)
            most = days_to_target(board, east[1][0], AUTUMN, FACTORS).max(axis=1)
        else:
            least, most = ends(board, row.region, FACTORS, transfer)
        curve = Curves(row, *(np.exp(on_fine(np.log(d))) for d in (least, most)))
        near += fit(curve, alone=True).near
    return near


def unfitted(fits: list[Fit], thickness: float) -> int:
    """Count the ends met by the shipped factors at another thickness."""
    near = 0
    for one in fits:
        if one.row.green_known:
            board = one.row.board_of(thickness)
            found = ends(board, one.row.region, np.array([one.factor]))
            pair = float(found[0][0]), float(found[1][0])
            near += sum(abs(r - 1.0) <= NEAR for r in ratios_of(one.row, pair))
    return near


def sensitivity(fits: list[Fit]) -> list[str]:
    """Refit under other inputs; none of these was used."""
    north = PLACES["east"][1]
    cases = {
        "as stated": refitted(),
        "25.4 mm": refitted(thickness=25.4),
        "28.6 mm": refitted(thickness=28.6),
        "0.5 mm/s, a wide hand-built pile": refitted(transfer=0.5e-3),
        "0.7 mm/s": refitted(transfer=0.7e-3),
        "1.4 mm/s": refitted(transfer=1.4e-3),
        "eastern woods' south Louisville alone": refitted(
            east=(("Louisville KY",), north)
        ),
        "eastern woods' south Charleston alone": refitted(
            east=(("Charleston WV",), north)
        ),
    }
    for thickness in (25.4, 28.6):
        name = f"{thickness} mm with the factors shipped, not refitted"
        cases[name] = unfitted(fits, thickness)
    return [
        "| inputs, factors refitted to the ranges alone | ends within 20 %, of 82 |",
        "|---|---|",
        *(f"| {name} | {near} |" for name, near in cases.items()),
    ]


def thick_stock() -> list[str]:
    """Return published times of thick stock beside the tool's."""
    lines = ["| stock | published | tool over published |", "|---|---|---|"]
    found = ratios()
    unit = {"ratio": "times", "kiln": "days", "yard": "days"}
    for row in read("thick_stock.csv"):
        kind, ratio = found[row["id"]]
        lines.append(f"| {row['id']} | {row['published']} {unit[kind]} | {ratio:.2f} |")
    for kind, name in (("kiln", "the kiln, foretold"), ("yard", "the yard, foretold")):
        own = np.array([ratio for k, ratio in found.values() if k == kind])
        near = int((np.abs(np.log(own)) <= np.log(THICK_NEAR)).sum())
        mean = float(np.exp(np.mean(np.log(own))))
        lines.append(
            f"| **{name}** | within ×/÷ {THICK_NEAR:g}: {near} of {own.size} | "
            f"mean {mean:.2f} |"
        )
    return lines


def write_page(every: list[Curves], fits: list[Fit]) -> None:
    """Work out all tables of the fit and put them on the page."""
    tables = {
        "summary": summary(every, fits),
        "woods": wood_table(every, fits),
        "evidence": other_evidence(every, fits),
        "inputs": sensitivity(fits),
        "thick": thick_stock(),
    }
    put(tables)


def put(tables: dict[str, list[str]]) -> None:
    """Put tables between their marks."""
    text = PAGE.read_text(encoding="utf-8")
    for name, lines in tables.items():
        print("\n".join(["", *lines]), flush=True)
        begin, end = f"<!-- {name} -->", f"<!-- end of {name} -->"
        head, rest = text.split(begin)
        tail = rest.split(end)[1]
        text = "\n".join([f"{head}{begin}", "", *lines, "", f"{end}{tail}"])
    PAGE.write_text(text, encoding="utf-8")
