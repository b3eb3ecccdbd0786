"""Words, rows and JSON of a map."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from emcforecast.cautions import Caution
from emcforecast.dates import MONTHS, short_month
from emcforecast.grid.summary import MapSummary, OverCells, PlaceOnMap
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.repairs import COST_OF_MONTHS
from emcforecast.report.storage import fallback_words
from emcforecast.report.words import capital, sentence, wrapped
from emcforecast.storage.drivers import fallbacks_of
from emcforecast.storage.kinds import KINDS

if TYPE_CHECKING:
    import xarray as xr

GIVES: dict[str, str] = {
    "hour": "From hourly weather: everything a map can hold.",
    "day": (
        "From daily means: hours are rebuilt with the usual course of a day over 10 K, "
        "so the lowest of a month is of wood, not of a single dry afternoon."
    ),
    "month": (
        "From monthly means: hours are rebuilt, so single dry spells are missing and "
        f"the years differ less than they do. {sentence(COST_OF_MONTHS)}"
    ),
    "climatology": (
        "From twelve mean months: one usual year. There is no range over years, and a "
        "share of years is 0 or 1."
    ),
}
"""What each step of weather gives a map of boards."""
EMC_GIVES: dict[str, str] = {
    "day": "EMC of daily mean air, as published tables have it.",
    "month": "EMC of monthly mean air, as published tables have it.",
    "climatology": (
        "EMC of twelve mean months, as published tables have it: no range over years."
    ),
}


def gives(result: "xr.Dataset") -> str:
    """Say what the step of the weather lets a map hold."""
    step = str(result.attrs["weather_step"])
    if "place" not in result.dims:
        return EMC_GIVES.get(step, f"From {_every(step)} weather: mean and lowest EMC.")
    coarse = (
        f"From {_every(step)} weather: the hours between are bridged in temperature "
        "and vapour pressure."
    )
    return GIVES.get(step, coarse)


def _every(step: str) -> str:
    return "hourly" if step == "hour" else f"{step}ly"


def map_text(result: "xr.Dataset", summary: MapSummary, title: str) -> str:
    """Say what a map shows, in at most a screen.

    Parameters
    ----------
    result : Dataset
        The map.
    summary : MapSummary
        What it says over its cells.
    title : str
        The case, from `map_title`.
    """
    lines = [wrapped(title), ""]
    if summary.places:
        lines += _place_lines(summary.places)
    else:
        lines += _emc_lines(summary)
    lines += ["", wrapped(gives(result)), wrapped(_based_on(result))]
    return "\n".join(lines)


def map_title(result: "xr.Dataset", summary: MapSummary) -> str:
    """Say whose moisture is shown, where and of which years."""
    attrs = result.attrs
    what = "EMC outdoors"
    if summary.places:
        wood = capital(str(attrs["species"]))
        what = f"{wood} {float(attrs['thickness_mm']):g} mm: how dry it gets"
    grid = f"{summary.rows} × {summary.columns} cells, {summary.cells} with an answer"
    return f"{what}, {_span(result)} ({grid})"


def _span(result: "xr.Dataset") -> str:
    if "periods" in result.attrs:
        return str(result.attrs["periods"]).replace("; ", " and ")
    if result.attrs["weather_step"] == "climatology":
        return "a usual year"
    first, last = (str(result.attrs[f"weather_{k}"])[:4] for k in ("start", "end"))
    return first if first == last else f"{first} to {last}"


def _place_lines(places: Sequence[PlaceOnMap]) -> list[str]:
    lines = ["                     driest   in 8 cells of 10   mostly in"]
    for one in places:
        name = KINDS[one.kind].title
        month = MONTHS[one.month - 1] if one.month else "nowhere"
        lines.append(
            f"{capital(name)[:20]:<20}{one.lowest.middle:5.0f} %   "
            f"{_ends(one.lowest):>12} %     {month}"
        )
    for one in places:
        name = KINDS[one.kind].title
        lines += [
            wrapped(
                f"{mc:g} % in the {name}: reached in at least half of the years in "
                f"{100.0 * share:.0f} % of the cells."
            )
            for mc, share in one.reached.items()
        ]
        lines += [
            wrapped(
                f"A green stack in the {name} takes {days.middle:.0f} days to {mc:g} % "
                f"({_ends(days)} in 8 cells of 10)."
            )
            for mc, days in one.days.items()
            if days.cells
        ]
        if one.change is not None and one.change.cells:
            lines.append(
                wrapped(f"Change of the driest in the {name}: {_signed(one.change)}.")
            )
    return lines


def _emc_lines(summary: MapSummary) -> list[str]:
    lines = ["       EMC   in 8 cells of 10"]
    lines += [
        f"{name:<4}{month.middle:4.0f} %   {_ends(month):>8} %"
        for name, month in zip(map(short_month, range(1, 13)), summary.emc, strict=True)
    ]
    if summary.emc_change is not None:
        lines.append(
            wrapped(f"Change of the year's mean EMC: {_signed(summary.emc_change)}.")
        )
    return lines


def _ends(value: OverCells) -> str:
    low, high = f"{value.low:.0f}", f"{value.high:.0f}"
    return low if low == high else f"{low} to {high}"


def _signed(change: OverCells) -> str:
    return (
        f"{change.middle:+.1f} % MC in the middle cell "
        f"({change.low:+.1f} to {change.high:+.1f} in 8 cells of 10)"
    )


def _based_on(result: "xr.Dataset") -> str:
    attrs = result.attrs
    parts = [f"Based on: {attrs.get('source', 'a grid')}."]
    parts += [sentence(str(attrs[k])) for k in ("attribution",) if attrs.get(k)]
    clock = str(attrs["local_time"])
    words = "longitude/15 from UTC" if clock == "longitude/15" else clock
    return " ".join([*parts, f"Months by local time: {words}."])


def map_warnings(result: "xr.Dataset") -> list[str]:
    """Say what stands in for weather the grid does not have."""
    return fallback_words(fallbacks_of(result))


def map_cautions(summary: MapSummary, *, stacked: bool) -> tuple[str, ...]:
    """Return the cautions of the places."""
    kinds = [place.kind for place in summary.places]
    return caution_words(
        cautions_for(kinds, stacked=stacked, also=[Caution.METER] if kinds else [])
    )


def map_result(
    result: "xr.Dataset", summary: MapSummary, output: str | None
) -> dict[str, Any]:
    """Return the JSON result."""
    return {
        "output": output,
        "variables": [str(name) for name in result.data_vars],
        "gives": gives(result),
        "cells": {
            "rows": summary.rows,
            "columns": summary.columns,
            "answered": summary.cells,
        },
        "places": summary.places,
        "emc": summary.emc,
        "emc_change": summary.emc_change,
    }


def map_rows(summary: MapSummary) -> list[dict[str, Any]]:
    """Return the summary as rows: one a place, or one a month of EMC outdoors."""
    if summary.places:
        return [
            {
                "place": one.name,
                "kind": one.kind,
                "lowest_low_mc_pct": one.lowest.low,
                "lowest_middle_mc_pct": one.lowest.middle,
                "lowest_high_mc_pct": one.lowest.high,
                "month": one.month,
                "cells": one.lowest.cells,
            }
            for one in summary.places
        ]
    return [
        {
            "month": number,
            "emc_low_pct": month.low,
            "emc_middle_pct": month.middle,
            "emc_high_pct": month.high,
            "cells": month.cells,
        }
        for number, month in enumerate(summary.emc, 1)
    ]


def yard_rows(result: "xr.Dataset") -> list[dict[str, Any]]:
    """Return the table of many yards: one row a yard and place, % MC, days, km.

    Parameters
    ----------
    result : Dataset
        A map over the dims ``yard`` and ``cell``
        (`emcforecast.grid.yards.cells_at`).
    """
    found = result.isel(cell=0).load()
    rows = []
    for y in range(found.sizes["yard"]):
        yard = found.isel(yard=y)
        about = {
            "name": str(yard["name"].to_numpy()),
            "cell_latitude": float(yard["latitude"]),
            "cell_longitude": float(yard["longitude"]),
            "distance_km": float(yard["distance"]),
        }
        if "place" not in found.dims:
            months = yard["emc"].to_numpy()
            rows.append(about | _by_month("emc", months))
            continue
        for p in range(found.sizes["place"]):
            rows.append(about | _yard_row(yard.isel(place=p)))
    return rows


def _yard_row(here: "xr.Dataset") -> dict[str, Any]:
    row: dict[str, Any] = {"place": str(here["place"].to_numpy())}
    for name in ("year_lowest_p10", "year_lowest_p50", "year_lowest_p90"):
        row[f"{name}_pct"] = float(here[name])
    month = float(here["year_lowest_month"])
    row["year_lowest_month"] = int(month) if month == month else None
    if "share_of_years" in here:
        for target in here["target"].to_numpy():
            share = here["share_of_years"].sel(target=target)
            row[f"share_of_years_{target:g}_pct"] = float(share)
    if "days_to_p50" in here:
        for mc in here["content"].to_numpy():
            row[f"days_to_{mc:g}_pct"] = float(here["days_to_p50"].sel(content=mc))
    return row | _by_month("lowest_p50", here["lowest_p50"].to_numpy())


def _by_month(name: str, values: Any) -> dict[str, float]:
    return {
        f"{name}_{month[:3].lower()}_pct": float(value)
        for month, value in zip(MONTHS, values, strict=True)
    }


def yards_text(rows: Sequence[dict[str, Any]], title: str, result: "xr.Dataset") -> str:
    """Say the answers for many yards as a table, the first screenful of it."""
    lines = [wrapped(title), ""]
    boards = "place" in rows[0]
    for row in rows[:LINES]:
        if boards:
            month = row["year_lowest_month"]
            found = "no answer: too much of the weather is missing"
            if month:
                low = row["year_lowest_p50_pct"]
                found = f"{low:5.1f} %  {MONTHS[month - 1]}"
            lines.append(f"{row['name'][:24]:<25}{row['place'][:12]:<13}{found}")
        else:
            low, high = (f(_emc_of(row)) for f in (min, max))
            lines.append(f"{row['name'][:24]:<25}EMC {low:.1f} to {high:.1f} %")
    if len(rows) > LINES:
        lines.append(f"… and {len(rows) - LINES} more rows; all of them: --csv FILE")
    return "\n".join([*lines, "", wrapped(gives(result)), wrapped(_based_on(result))])


def _emc_of(row: dict[str, Any]) -> list[float]:
    return [value for name, value in row.items() if name.startswith("emc_")]


LINES = 20
"""Rows of a table of yards that are printed."""
