"""Other predictors of a wood that was kept back: what was tried, and what it foretold.

Run by hand (``python data/drying/drying_tried.py``, ten minutes): writes the table of
"What was tried" in docs/boards.md. Every line is told with the whole species left out
of whatever it learns from, so that a line with more numbers to fit has no advantage.
None of these is used by the tool; the table tells why not.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from unittest.mock import patch

import numpy as np
from drying_days import (
    AUTUMN,
    NEAR,
    PLACES,
    SPRING,
    TRANSFER,
    Published,
    airs,
    days_to_target,
    published,
)
from drying_page import put
from fit import FINE
from scipy.optimize import minimize

from emcforecast.physics import diffusion
from emcforecast.wood import board as board_module
from emcforecast.wood.board import Board

TRIED = np.geomspace(0.02, 3.0, 14)
"""Factors at which the model is run; it is smooth between them."""
ROUND = 0.15
"""Below this an error (a logarithm) counts by its square, above it by itself."""
NEVER = 3.0
"""Stands for a wood that does not get dry in the time of a run."""
GUESSES = np.geomspace(10.0, 400.0, 800)
"""Days tried where one number is to stand for all woods."""


@dataclass(frozen=True)
class Errors:
    """Logarithm of predicted over published days, by wood and fine factor."""

    least: np.ndarray
    most: np.ndarray

    def at(self, logarithm: np.ndarray, woods: np.ndarray) -> np.ndarray:
        """Errors of some woods at a factor each, shape (2, woods)."""
        found = np.array(
            [
                [
                    np.interp(f, FINE, end[wood])
                    for f, wood in zip(logarithm, woods, strict=True)
                ]
                for end in (self.least, self.most)
            ]
        )
        return np.nan_to_num(found, nan=NEVER)


def rows() -> list[Published]:
    """Return the woods that count: those whose green moisture is published."""
    return [row for row in published() if row.green_known]


def parts(row: Published) -> list[Board]:
    """Return the driest and the wettest part of a wood whose parts are not apart."""
    known = [
        row.board_of(row.board.thickness_mm)
        if row.part != "mixed"
        else Board(row.species, row.board.thickness_mm, part)
        for part in ("heartwood", "sapwood")
        if getattr(row.species, f"green_{part}") is not None
    ]
    known.sort(key=lambda board: board.start_content())
    return [known[0], known[-1]]


def run(
    transfer: float = TRANSFER, *, by_part: bool = False, middle: bool = False
) -> Errors:
    """Run every wood; middle: the middle stacking of a season, not its extreme."""
    fine: list[list[np.ndarray]] = [[], []]
    for row in rows():
        dry, wet = parts(row) if by_part else (row.board, row.board)
        south, north = PLACES[row.region]
        for end, (board, places, season, published_days) in enumerate(
            [(dry, south, SPRING, row.least), (wet, north, AUTUMN, row.most)]
        ):
            take = np.median if middle else (np.min, np.max)[end]
            own = [
                np.log(take(days_to_target(board, p, season, TRIED, transfer=transfer),
                            axis=1))
                for p in places
            ]  # fmt: skip
            days = np.interp(FINE, np.log(TRIED), np.mean(own, axis=0))
            fine[end].append(days - np.log(published_days))
    return Errors(np.array(fine[0]), np.array(fine[1]))


def met(errors: np.ndarray) -> int:
    """Count the ends within 20 %."""
    return int((np.abs(np.exp(errors) - 1.0) <= NEAR).sum())


def said(errors: np.ndarray) -> str:
    """Tell ends met, the middle error and the root mean square, × or ÷."""
    middle = np.exp(np.median(np.abs(errors)))
    square = np.exp(np.sqrt(np.mean(np.square(errors))))
    return f"{met(errors)} | {middle:.2f} | {square:.2f}"


def kept_back() -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Yield the places of one species' rows, and of all others'."""
    names = np.array([row.species.name for row in rows()])
    for name in dict.fromkeys(names.tolist()):
        yield np.flatnonzero(names == name), np.flatnonzero(names != name)


def traits() -> dict[str, np.ndarray]:
    """Return what is known of each wood without drying it, each about 0 or 0 and 1."""
    woods = [row.species for row in rows()]
    region = np.array([row.region for row in rows()])
    green = np.array([100.0 * row.board.start_content() for row in rows()])
    named = {
        "gravity": [np.log(s.basic_gravity / 0.45) for s in woods],
        "kind": [float(s.kind == "softwood") for s in woods],
        "green moisture": np.log(green / 80.0),
        "shrinkage": [np.log(s.shrink_tangential / 8.0) for s in woods],
        "pine": [float(s.group == "pine") for s in woods],
        "ring-porous": [
            float(s.group in ("ash", "elm", "hackberry", "hickory", "oak"))
            for s in woods
        ],
        **{name: region == name for name in ("inland west", "pacific", "south")},
    }
    return {name: np.asarray(values, dtype=float) for name, values in named.items()}


def regression(errors: Errors, names: tuple[str, ...]) -> np.ndarray:
    """Foretell kept-back woods by the factor that traits give the others."""
    known = traits()
    table = np.column_stack([np.ones(len(rows())), *(known[name] for name in names)])
    found = np.zeros((2, len(rows())))
    for out, rest in kept_back():

        def loss(weights: np.ndarray, rest: np.ndarray = rest) -> float:
            off = errors.at(table[rest] @ weights, rest)
            strength = 0.01 * float((weights[1:] ** 2).sum())
            return float(np.sqrt(off**2 + ROUND**2).sum()) + strength

        begin = np.zeros(table.shape[1])
        begin[0] = np.log(0.3)
        best = minimize(loss, begin, method="Powell", options={"xtol": 1e-3}).x
        found[:, out] = errors.at(table[out] @ best, out)
    return found


def other_end(errors: Errors) -> np.ndarray:
    """Foretell each end by the factor that meets the other."""
    woods = np.arange(len(rows()))
    from_most = FINE[np.nanargmin(np.abs(errors.most), axis=1)]
    from_least = FINE[np.nanargmin(np.abs(errors.least), axis=1)]
    return np.array([errors.at(from_most, woods)[0], errors.at(from_least, woods)[1]])


def two_numbers() -> np.ndarray:
    """Foretell by one pair of days, the one that meets most of the other woods."""
    days = np.array([[row.least for row in rows()], [row.most for row in rows()]])
    found = np.zeros(days.shape)
    for out, rest in kept_back():
        for end in range(2):
            ratio = GUESSES[:, None] / days[end, rest]
            count = (np.abs(ratio - 1.0) <= NEAR).sum(axis=1)
            best = np.exp(np.mean(np.log(GUESSES[count == count.max()])))
            found[end, out] = np.log(best / days[end, out])
    return found


@contextmanager
def other(module: object, name: str, value: float) -> Iterator[None]:
    """Run the model with another constant."""
    airs.cache_clear()
    with patch.object(module, name, value):
        yield
    airs.cache_clear()


def misses(usual: Errors) -> list[str]:
    """Tell where the ends lie that one factor for all woods foretells."""
    errors = regression(usual, ())
    lines = [
        "| woods of | woods | least within 20 % | over published, middle | "
        "most within 20 % | over published, middle | width over published, middle |",
        "|---|---|---|---|---|---|---|",
    ]
    groups = [(row.region, row.species.kind) for row in rows()]
    for group in sorted(set(groups)):
        own = errors[:, [one == group for one in groups]]
        least, most, width = np.exp(np.median([*own, own[1] - own[0]], axis=1))
        lines.append(
            f"| {group[0]}, {group[1]}s | {own.shape[1]} | {met(own[0])} | "
            f"{least:.2f} | {met(own[1])} | {most:.2f} | {width:.2f} |"
        )
    return lines


def tried(usual: Errors) -> list[str]:
    """Work out every line."""
    lines = [
        "| kept-back woods foretold by | numbers fitted | ends within 20 %, of 82 | "
        "middle error | root mean square error |",
        "|---|---|---|---|---|",
    ]
    where = ("inland west", "pacific", "south")
    for names in (
        (),
        ("kind",),
        ("gravity",),
        ("kind", "gravity"),
        ("green moisture",),
        ("kind", "green moisture"),
        ("kind", "gravity", "green moisture"),
        ("shrinkage",),
        ("kind", "shrinkage"),
        ("kind", "ring-porous"),
        ("kind", "pine"),
        ("kind", "pine", "green moisture"),
        (*where, "green moisture"),
        (*where, "kind", "pine", "green moisture"),
    ):
        words = ", ".join(names).replace(", ".join(where), "region") or "nothing"
        what = "one factor for all woods" if not names else f"a factor by {words}"
        found = said(regression(usual, names))
        lines.append(f"| {what} | {len(names) + 1} | {found} |")
    cases: dict[str, Errors] = {
        "1.4 mm/s at the surface": run(1.4e-3),
        "0.7 mm/s": run(0.7e-3),
        "least from the driest part of the tree, most from the wettest": run(
            by_part=True
        ),
        "the middle of a season's stackings, not its extreme": run(middle=True),
    }
    for kelvin in (3300.0, 4200.0):
        with other(diffusion, "ACTIVATION", kelvin):
            cases[f"warmth dependence {kelvin:.0f} K"] = run()
    for power, name in ((0.0, "dry woods all alike"), (1.0, "the factor whole, dry")):
        with other(board_module, "DRY_POWER", power):
            cases[name] = run()
    for name, errors in cases.items():
        lines.append(f"| {name}: one factor | 1 | {said(regression(errors, ()))} |")
        lines.append(
            f"| {name}: each end by the other | — | {said(other_end(errors))} |"
        )
    lines.append(
        "| no model: the two numbers of days that meet most other woods | 2 | "
        f"{said(two_numbers())} |"
    )
    return lines


if __name__ == "__main__":
    usual_run = run()
    put({"misses": misses(usual_run), "tried": tried(usual_run)})
