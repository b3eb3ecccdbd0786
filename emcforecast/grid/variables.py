"""The variables a map holds: names, dimensions, CF attributes."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from emcforecast.forecast.tabular import of_wood
from emcforecast.grid.question import GridQuestion

OVER = {"p10": "one year in ten", "p50": "middle", "p90": "nine years in ten"}


@dataclass(frozen=True)
class MapVariable:
    """One variable of a map, beside the two dims of space.

    Parameters
    ----------
    name : str
        Its name.
    dims : tuple of str
        Of "place", "month", "target" and "content".
    attrs : dict of str to str
        Units, long name, cell methods.
    """

    name: str
    dims: tuple[str, ...]
    attrs: dict[str, str]


def floor_variables(question: GridQuestion) -> list[MapVariable]:
    """Return the variables that answer a question.

    Parameters
    ----------
    question : GridQuestion
        With or without targets and a day of stacking.
    """
    mean, least = {"cell_methods": "time: mean"}, {"cell_methods": "time: minimum"}
    monthly = ("place", "month")
    found = [
        MapVariable(
            "emc", monthly, of_wood("mean equilibrium moisture content") | mean
        ),
        MapVariable("board_mean", monthly, of_wood("board, mean") | mean),
    ]
    for name, words in OVER.items():
        title = f"lowest of the board, {words}"
        found += [
            MapVariable(f"lowest_{name}", monthly, of_wood(title) | least),
            MapVariable(f"year_lowest_{name}", ("place",), of_wood(title) | least),
        ]
    found += [
        MapVariable(
            "year_lowest_month",
            ("place",),
            {"units": "1", "long_name": "month of the year's lowest"},
        ),
        MapVariable(
            "year_lowest_spread",
            ("place",),
            of_wood("standard deviation over the years of the year's lowest"),
        ),
    ]
    if question.targets:
        found.append(
            MapVariable(
                "share_of_years",
                ("place", "target"),
                {"units": "1", "long_name": "share of years in which it is reached"},
            )
        )
    if question.steps:
        found += [
            MapVariable(
                f"days_to_{name}",
                ("place", "content"),
                {
                    "units": "days",
                    "long_name": f"days from stacking to a moisture content, {words}",
                },
            )
            for name, words in OVER.items()
        ]
        found.append(
            MapVariable(
                "share_dried",
                ("place", "content"),
                {
                    "units": "1",
                    "long_name": "share of years in which a green stack gets there "
                    "within two years",
                },
            )
        )
    return found


def floor_coordinates(question: GridQuestion) -> dict[str, Any]:
    """Return the coordinates of a map beside those of space."""
    found: dict[str, Any] = {
        "place": ("place", [name for name, _ in question.places]),
        "month": ("month", np.arange(1, 13), {"long_name": "month of the year"}),
    }
    if question.targets:
        found["target"] = (
            "target", np.array(question.targets), of_wood("moisture content to reach"),
        )  # fmt: skip
    if question.steps:
        found["content"] = (
            "content", np.array(question.steps), of_wood("moisture content"),
        )  # fmt: skip
    return found
