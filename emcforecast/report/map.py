"""Words, rows and JSON of a map."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from emcforecast.cautions import Caution
from emcforecast.dates import MONTHS, month, short_month
from emcforecast.grid.summary import MapSummary, OverCells, PlaceOnMap
from emcforecast.language import N_, _, number
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.names import place_title, wood_name
from emcforecast.report.repair_table import COST_OF_MONTHS
from emcforecast.report.storage import fallback_words
from emcforecast.report.words import capital, listed, sentence, wrapped
from emcforecast.storage.drivers import fallbacks_of
from emcforecast.storage.kinds import KINDS

if TYPE_CHECKING:
    import xarray as xr

GIVES: dict[str, str] = {
    "hour": N_("From hourly weather: everything a map can hold."),
    "3-hour": N_(
        "From 3-hourly weather: the hours between are bridged in temperature and "
        "vapour pressure."
    ),
    "day": N_(
        "From daily means: hours are rebuilt with the usual course of a day over 10 K, "
        "so the lowest of a month is of wood, not of a single dry afternoon."
    ),
    "month": N_(
        "From monthly means: hours are rebuilt, so single dry spells are missing and "
        "the years differ less than they do."
    ),
    "climatology": N_(
        "From twelve mean months: one usual year. There is no range over years, and a "
        "share of years is 0 or 1."
    ),
}
"""What each step of weather gives a map of boards."""
EMC_GIVES: dict[str, str] = {
    "hour": N_("From hourly weather: mean and lowest EMC."),
    "3-hour": N_("From 3-hourly weather: mean and lowest EMC."),
    "day": N_("EMC of daily mean air, as published tables have it."),
    "month": N_("EMC of monthly mean air, as published tables have it."),
    "climatology": N_(
        "EMC of twelve mean months, as published tables have it: no range over years."
    ),
}


def gives(result: "xr.Dataset") -> str:
    """Say what the step of the weather lets a map hold."""
    step = str(result.attrs["weather_step"])
    if "place" not in result.dims:
        return _(EMC_GIVES[step])
    said = _(GIVES[step])
    if step == "month":
        return " ".join((said, sentence(_(COST_OF_MONTHS))))
    return said


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
    lines = [wrapped(title), "", *_table(summary)]
    lines += map(wrapped, map_sentences(summary))
    lines += ["", wrapped(gives(result)), wrapped(based_on(result))]
    return "\n".join(lines)


def map_title(result: "xr.Dataset", summary: MapSummary) -> str:
    """Say whose moisture is shown, where and of which years."""
    attrs = result.attrs
    what = _("EMC outdoors")
    if summary.places:
        what = _(
            "{wood} {thickness:g} mm: how dry it gets",
            wood=capital(wood_name(str(attrs["species"]))),
            thickness=float(attrs["thickness_mm"]),
        )
    return _(
        "{what}, {years} ({rows} × {columns} cells, {cells} with an answer)",
        what=what,
        years=_span(result),
        rows=summary.rows,
        columns=summary.columns,
        cells=summary.cells,
    )


def _span(result: "xr.Dataset") -> str:
    if "periods" in result.attrs:
        return listed(str(result.attrs["periods"]).split("; "))
    if result.attrs["weather_step"] == "climatology":
        return _("a usual year")
    first, last = (str(result.attrs[f"weather_{k}"])[:4] for k in ("start", "end"))
    if first == last:
        return first
    return _("{first} to {last}", first=first, last=last)


def _table(summary: MapSummary) -> list[str]:
    """Write the table as text, its columns as wide as their heads."""
    heads, rows = map_heads(summary), map_lines(summary)
    first = 20 if summary.places else 5
    wide = max(first, *(len(row[0]) for row in rows)) + 1
    columns = [max(9, len(heads[1]) + 3), *(max(19, len(h) + 3) for h in heads[2:])]
    return [
        f"{row[0]:<{wide}}"
        + "".join(f"{c:<{w}}" for c, w in zip(row[1:], columns, strict=True)).rstrip()
        for row in (("", *heads[1:]), *rows)
    ]


def map_heads(summary: MapSummary) -> tuple[str, ...]:
    """Return the heads of a map's table, a column each."""
    if summary.places:
        return _("place"), _("driest"), _("in 8 cells of 10"), _("mostly in")
    return _("month"), _("EMC"), _("in 8 cells of 10")


def map_lines(summary: MapSummary) -> list[tuple[str, ...]]:
    """Return the rows of a map's table: a place, or a month of EMC outdoors."""
    if not summary.places:
        return [
            (short_month(index), f"{one.middle:.0f} %", f"{_ends(one)} %")
            for index, one in enumerate(summary.emc, 1)
        ]
    return [
        (
            capital(place_title(one.kind)),
            f"{one.lowest.middle:.0f} %",
            f"{_ends(one.lowest)} %",
            month(one.month) if one.month else _("nowhere"),
        )
        for one in summary.places
    ]


def map_sentences(summary: MapSummary) -> list[str]:
    """Return what else a map says of its places, in whole sentences."""
    said = [line for one in summary.places for line in _place_sentences(one)]
    if summary.emc_change is not None:
        change = _signed(summary.emc_change)
        said.append(_("Change of the year's mean EMC: {change}.", change=change))
    return said


def _place_sentences(one: PlaceOnMap) -> list[str]:
    """Say what is reached in a place, when, and how much it changes."""
    inside = place_title(one.kind, "in the place")
    said = [
        _(
            "{mc:g} % in the {place}: reached in at least half of the years in "
            "{share:.0f} % of the cells.",
            mc=mc,
            place=inside,
            share=100.0 * share,
        )
        for mc, share in one.reached.items()
    ]
    said += [
        _(
            "A green stack in the {place} takes {days:.0f} days to {mc:g} % ({ends} in "
            "8 cells of 10).",
            place=inside,
            days=days.middle,
            mc=mc,
            ends=_ends(days),
        )
        for mc, days in one.days.items()
        if days.cells
    ]
    if one.change is not None and one.change.cells:
        change = _signed(one.change)
        said.append(
            _(
                "Change of the driest in the {place}: {change}.",
                place=inside,
                change=change,
            )
        )
    return said


def _ends(value: OverCells) -> str:
    low, high = f"{value.low:.0f}", f"{value.high:.0f}"
    return low if low == high else _("{low} to {high}", low=low, high=high)


def _signed(change: OverCells) -> str:
    return _(
        "{middle:+.1f} % MC in the middle cell ({low:+.1f} to {high:+.1f} in 8 cells "
        "of 10)",
        middle=change.middle,
        low=change.low,
        high=change.high,
    )


def based_on(result: "xr.Dataset") -> str:
    """Say whose weather a map rests on, and by which clock its months are."""
    attrs = result.attrs
    parts = [_("Based on: {source}.", source=attrs.get("source") or _("a grid"))]
    parts += [sentence(str(attrs[k])) for k in ("attribution",) if attrs.get(k)]
    clock = str(attrs["local_time"])
    words = _("longitude/15 from UTC") if clock == "longitude/15" else clock
    return " ".join([*parts, _("Months by local time: {clock}.", clock=words)])


def map_warnings(result: "xr.Dataset", *, stacked: bool = False) -> list[str]:
    """Say what stands in for weather the grid lacks, and where no green wood goes."""
    said = fallback_words(fallbacks_of(result))
    kinds = str(result.attrs.get("kinds", "")).split(", ") if stacked else []
    closed = [
        place_title(kind, "into the place")
        for kind in kinds
        if not KINDS[kind].takes_green
    ]
    if closed:
        said.append(
            _(
                "Green wood does not belong in the {places}: it checks or moulds "
                "there. Those days are worked out, not advised.",
                places=listed(closed, "or"),
            )
        )
    return said


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
            "month": index,
            "emc_low_pct": emc.low,
            "emc_middle_pct": emc.middle,
            "emc_high_pct": emc.high,
            "cells": emc.cells,
        }
        for index, emc in enumerate(summary.emc, 1)
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
    when = float(here["year_lowest_month"])
    row["year_lowest_month"] = int(when) if when == when else None
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
        f"{name}_{english[:3].lower()}_pct": float(value)
        for english, value in zip(MONTHS, values, strict=True)
    }


def yards_text(rows: Sequence[dict[str, Any]], title: str, result: "xr.Dataset") -> str:
    """Say the answers for many yards as a table, the first screenful of it."""
    lines = [wrapped(title), ""]
    boards = "place" in rows[0]
    for row in rows[:LINES]:
        if boards:
            when = row["year_lowest_month"]
            found = _("no answer: too much of the weather is missing")
            if when:
                least = number(row["year_lowest_p50_pct"], "5.1f")
                found = f"{least} %  {month(when)}"
            lines.append(f"{row['name'][:24]:<25}{row['place'][:12]:<13}{found}")
        else:
            low, high = (f(_emc_of(row)) for f in (min, max))
            ends = _("EMC {low:.1f} to {high:.1f} %", low=low, high=high)
            lines.append(f"{row['name'][:24]:<25}{ends}")
    if len(rows) > LINES:
        more = _(
            "… and {count} more rows; all of them: --csv FILE", count=len(rows) - LINES
        )
        lines.append(more)
    return "\n".join([*lines, "", wrapped(gives(result)), wrapped(based_on(result))])


def _emc_of(row: dict[str, Any]) -> list[float]:
    return [value for name, value in row.items() if name.startswith("emc_")]


LINES = 20
"""Rows of a table of yards that are printed."""
