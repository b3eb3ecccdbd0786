"""Tables of loggers and spreadsheets -> a weather series."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from emcforecast._types import BoolArray
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.formats.columns import choose_columns, with_place
from emcforecast.weather.formats.content import (
    UTF8_MARK,
    bare_start,
    decode,
    encoding_of,
    looks_like_text,
)
from emcforecast.weather.formats.csv_units import HUMIDITY_MEASURES, WANTED, in_units
from emcforecast.weather.formats.fast_table import SMALLEST, read_plain
from emcforecast.weather.formats.fixed_hours import with_daily_mean
from emcforecast.weather.formats.months import upright
from emcforecast.weather.formats.parsed import Parsed, series_of_parsed
from emcforecast.weather.formats.table import (
    Numbers,
    Table,
    begin_table,
    parse_numbers,
    read_table,
)
from emcforecast.weather.formats.table_times import timeline, timeline_of
from emcforecast.weather.hints import HEAD, Format, Hints
from emcforecast.weather.mend.running_sums import rain_of_sums
from emcforecast.weather.repairs import Repair, RepairKind, counted, repair

LARGEST_ODD = 150_000_000
"""Bytes of a table whose cells are taken apart one by one."""
_PLACE = ("latitude", "longitude", "elevation")


def parse_csv(data: bytes, hints: Hints, *, partial: bool = False) -> Parsed:
    """Read a table without yet asking it to be whole weather.

    `partial` accepts temperature or humidity alone. Raises `WeatherError` with the
    reason.
    """
    quick = _parse_plain(data, hints, partial=partial)
    if quick is not None:
        return quick
    if len(data) > LARGEST_ODD:
        raise WeatherError(
            _(
                "a table of {size_mb:,.0f} MB is read only where every row "
                "is such as 2024-01-31 13:00,1.5,80; write it so, or give "
                "fewer years",
                size_mb=len(data) / 1e6,
            )
        )
    table = with_daily_mean(read_table(upright(decode(data))))
    chosen, units, repairs = choose_columns(table, hints)
    found = [name for name in WANTED if name in chosen]
    if not partial or not set(found) & {"air_temperature", *HUMIDITY_MEASURES}:
        _require(table, found)
    table = _one_site(table, chosen, hints)
    repairs = [*table.repairs, *repairs]
    hints = with_place(hints, table, chosen)
    when = timeline(table, chosen, hints)
    keep = ~np.isnat(when.time)
    repairs += [*when.repairs, *_left_out(table, keep)]
    columns: dict[str, Numbers] = {}
    for name in found:
        columns[name] = parse_numbers(
            [
                cell
                for cell, ok in zip(table.cells(chosen[name]), keep, strict=True)
                if ok
            ]
        )
    time = when.time[keep]
    if not time.size:
        raise WeatherError(_("the file has no reading with a time that can be read"))
    values, names, more = in_units(columns, units, time, when, hints)
    repairs += more
    place = _place(hints)
    if when.offset is not None:
        place["utc_offset"] = when.offset
    labels = {
        name: f"{table.columns[chosen[name]].name} ({names[name]})" for name in values
    }
    if hints.stamp == "end" and when.step == "hour" and time.size > 1:
        usual = np.median(np.abs(np.diff(time)).astype(np.int64)).astype(np.int64)
        time = time - usual.astype("timedelta64[ns]")
        repairs.append(repair(RepairKind.INTERVAL_ENDS))
    return Parsed(time, values, when.step, place, repairs, labels)


def _parse_plain(data: bytes, hints: Hints, *, partial: bool) -> Parsed | None:
    """Read a big plain table fast; None when it is not plain, or needs a decision."""
    if len(data) < SMALLEST or hints.stamp is not None:
        return None
    head = data[: data.rfind(b"\n", 0, HEAD) + 1]
    if encoding_of(head) != "utf-8" and not head.startswith(UTF8_MARK):
        return None
    begun = begin_table(decode(head)) if head else None
    if begun is None:
        return None
    table, separator, before = begun
    body = 0
    for _line in range(before):
        body = data.index(b"\n", body) + 1
    chosen, units, repairs = choose_columns(table, hints)
    found = [name for name in WANTED if name in chosen]
    if separator == " " or "datetime" not in chosen or {"site", "clock"} & set(chosen):
        return None
    if not partial:
        _require(table, found)
    at = chosen["datetime"]
    plain = read_plain(
        data, table, body, separator, {name: chosen[name] for name in found}, at
    )
    if plain is None:
        return None
    names = [table.columns[at].name, *table.preamble]
    hints = with_place(hints, table, chosen)
    when = timeline_of(plain.time, plain.utc, [], names, hints)
    values, units_of, more = in_units(plain.columns, units, when.time, when, hints)
    place = _place(hints)
    if when.offset is not None:
        place["utc_offset"] = when.offset
    labels = {
        name: f"{table.columns[chosen[name]].name} ({units_of[name]})"
        for name in values
    }
    repairs = [*repairs, *when.repairs, *more]
    return Parsed(when.time, values, when.step, place, repairs, labels)


def _require(table: Table, found: Sequence[str]) -> None:
    names = ", ".join(f"'{column.name}'" for column in table.columns)[:160]
    has_temperature = {"air_temperature"} & set(found) or (
        {"daily_maximum", "daily_minimum"} <= set(found)
    )
    has_humidity = set(found) & set(HUMIDITY_MEASURES)
    if has_temperature and has_humidity:
        return
    if has_humidity:
        what, key = "temperature", "air_temperature"
    elif has_temperature:
        key = "relative_humidity"
        raise WeatherError(
            _(
                "the file has temperature but no humidity (columns: "
                "{names}); relative humidity, dew point, wet bulb or vapour "
                "pressure is needed: add one, join the file that has it by "
                "+, or say --column {key}=NAME",
                names=names,
                key=key,
            )
        )
    else:
        what, key = _("temperature or humidity"), "air_temperature"
    raise WeatherError(
        _(
            "no column is recognised as {what} (columns: {names}); both "
            "temperature and humidity are needed: rename it, or say "
            "--column {key}=NAME",
            what=what,
            names=names,
            key=key,
        )
    )


def _left_out(table: Table, keep: BoolArray) -> list[Repair]:
    lost = int(keep.size - np.count_nonzero(keep))
    if not lost:
        return []
    row = table.rows[int(np.flatnonzero(~keep)[0])]
    text = " ".join(cell for cell in row if cell.strip())[:40]
    if lost > 0.5 * keep.size:
        raise WeatherError(
            _(
                "{lost} of {count} rows have no time that can be read (such "
                "as '{text}'); write times as 2024-01-31 13:00",
                lost=lost,
                count=keep.size,
                text=text,
            )
        )
    return counted(RepairKind.UNREADABLE_TIMES, lost, example=text)


def _one_site(table: Table, chosen: dict[str, int], hints: Hints) -> Table:
    if "site" not in chosen:
        return table
    at = chosen["site"]
    sites = sorted({row[at].strip() for row in table.rows} - {""})
    if len(sites) < 2 or len(sites) > 0.2 * len(table.rows):
        return table
    if hints.place is None:
        raise WeatherError(
            _(
                "the file holds {count} places ({sites}); choose one with --place",
                count=len(sites),
                sites=", ".join([*sites[:6], "…"][: len(sites)]),
            )
        )
    rows = [row for row in table.rows if row[at].strip() == hints.place.strip()]
    if not rows:
        raise WeatherError(
            _(
                "the file has no place '{place}'; it has {sites}",
                place=hints.place,
                sites=", ".join(sites[:12]),
            )
        )
    return Table(table.columns, rows, table.preamble, table.repairs)


def _place(hints: Hints) -> dict[str, float]:
    given = {name: getattr(hints, name) for name in _PLACE}
    return {name: value for name, value in given.items() if value is not None}


def read_csv(data: bytes, hints: Hints) -> xr.Dataset:
    """Read a table of a logger or spreadsheet."""
    parsed = parse_csv(data, hints)
    if parsed.step == "hour" and "precipitation" in parsed.quantities:
        rain, done = rain_of_sums(parsed.time, parsed.quantities["precipitation"])
        parsed.quantities["precipitation"] = rain
        parsed.repairs.extend(done)
    return series_of_parsed(parsed, hints, "CSV file")


def is_table(head: bytes, name: str) -> bool:
    """Recognise a table: text that is not a page, a program's notation or a message."""
    return looks_like_text(head) and bare_start(head)[:1] not in (*(b"{", b"[", b"<"),)


FORMAT = Format("CSV table", is_table, read_csv, is_unnamed=True)
