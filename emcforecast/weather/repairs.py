"""What was repaired, decided or left out on the way to a weather series, as values."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import xarray as xr

Fact = str | float | bool | None


class RepairKind(StrEnum):
    """Kinds of repair; the words of each are in `emcforecast.report.repairs`."""

    # The whole series.
    STATED = "stated"
    FILES_BESIDE = "files beside"
    FILES_CONCATENATED = "files concatenated"
    FILES_JOINED = "files joined"
    FORECAST_HOURS = "forecast hours"
    FORECAST_REFUSED = "forecast refused"
    FAR_FUTURE = "far future"
    # Times.
    DAY_FIRST = "day first"
    MONTH_FIRST = "month first"
    DATES_WITH_POINTS = "dates with points"
    EPOCH_SECONDS = "epoch seconds"
    EPOCH_MILLISECONDS = "epoch milliseconds"
    DAY_NUMBERS = "day numbers"
    HOURS_FROM_ONE = "hours from one"
    HUMIDITY_OF_HOURS = "humidity read at fixed hours"
    DAYS_AT_ONE_HOUR = "days at one hour"
    INTERVAL_ENDS = "interval ends"
    NO_LEAP_DAYS = "no leap days"
    LEAP_DAY_LEFT_OUT = "leap day left out"
    HOURS_APART = "hours apart"
    HALF_HOUR_CLOCK = "half-hour clock"
    SUMMER_TIME_REPEATED = "summer time, hours repeated"
    SUMMER_TIME_SKIPPED = "summer time, an hour skipped"
    OFFSET_OF_LONGITUDE = "offset of the longitude"
    OFFSET_UNKNOWN = "offset unknown"
    STANDARD_TIME_GIVEN = "standard time given"
    STANDARD_TIME_OF_PLACE = "standard time of the place"
    DAYS_OF_OFFSET = "days of an offset"
    DAYS_OF_SOLAR_TIME = "days of solar time"
    SOLAR_TIME = "solar time"
    # Rows.
    SHORT_LINES = "short lines"
    BROKEN_LINES = "broken lines"
    SUMMARY_ROWS = "summary rows"
    UNREADABLE_TIMES = "unreadable times"
    READINGS_WITHOUT_TIME = "readings without time"
    STRAY_READINGS = "stray readings"
    ROWS_OUT_OF_ORDER = "rows out of order"
    REPEATED_TIMES = "repeated times"
    REPEATED_DAYS = "repeated days"
    READINGS_AVERAGED = "readings averaged"
    READINGS_DISAGREE = "readings disagree"
    # Columns and units.
    COLUMN_CHOSEN = "column chosen"
    UNREADABLE_CELLS = "unreadable cells"
    UNIT_KELVIN = "unit kelvin"
    UNIT_OF_HUMIDITY = "unit of humidity"
    UNIT_OF_HEAT = "unit of heat"
    UNIT_OF_COLD = "unit of cold"
    UNIT_OF_NEIGHBOURS = "unit of neighbours"
    UNIT_FRACTION = "unit fraction"
    UNIT_USUAL = "unit usual"
    UNIT_DECIDED = "unit decided"
    UNIT_BESIDE_FAHRENHEIT = "unit beside fahrenheit"
    UNIT_UNKNOWN = "unit unknown"
    UNITS_OF_TABLE = "units of the table"
    VARIABLE_KELVIN = "variable kelvin"
    VARIABLE_FRACTION = "variable fraction"
    VARIABLE_PERCENT = "variable percent"
    VARIABLE_UNIT_UNKNOWN = "variable unit unknown"
    GRID_POINT = "grid point"
    # Grids.
    STAMPS_WITHIN = "stamps within the interval"
    TIMES_TWICE = "times twice"
    TIMES_UNPAIRED = "times unpaired"
    CALENDAR_DAYS = "days a calendar lacks"
    VERSIONS_MERGED = "versions merged"
    MEMBER_TAKEN = "member taken"
    VARIABLE_LEFT_OUT = "variable left out"
    PRESSURE_OF_HEIGHTS = "pressure of heights"
    SEA_LEVEL_CORRECTED = "sea-level pressure corrected"
    SEA_LEVEL_PRESSURE = "sea-level pressure"
    # Values.
    IMPOSSIBLE_VALUES = "impossible values"
    HUMIDITY_CAPPED = "humidity capped"
    MARKS_OF_MISSING = "marks of missing values"
    LEAPS = "hours that leap there and back"
    HUMIDITY_DOUBTFUL = "humidity doubtful"
    STUCK_SENSOR = "stuck sensor"
    MISSING_THROUGHOUT = "missing throughout"
    MONTHS_LACKING = "months lacking"
    MONTHS_FAR_OFF = "months far off"
    MARKED_BAD = "marked bad"
    MARKED_SUSPECT = "marked suspect"
    FAILED_CHECKS = "failed checks"
    ESTIMATED = "estimated"
    MODELLED = "modelled"
    HUMIDITY_DERIVED = "humidity derived"
    STANDARD_PRESSURE = "standard pressure"
    WIND_RAISED = "wind raised"
    RUNNING_SUMS = "running sums"
    RAIN_OF_DAYS = "rain adds up over the day"
    RAIN_COUNTER = "rain counter"
    RAIN_TRACES = "rain traces"
    RAIN_SHARED = "rain shared"
    RAIN_BEFORE_START = "rain before the start"
    RAIN_TENTHS = "rain in tenths"
    RAIN_ABSENT = "rain absent"
    RAIN_SPARSE = "rain sparse"
    RAIN_ALL_ZERO = "rain all zero"
    # Coarser steps.
    MEAN_OF_EXTREMES = "mean of extremes"
    HOURS_OF_DAYS = "hours of days"
    HOURS_OF_MONTHS = "hours of months"
    DAILY_RANGE_UNKNOWN = "daily range unknown"
    SUN_OF_DAILY_RANGE = "sun of the daily range"
    # Gaps.
    ENDS_TRIMMED = "ends trimmed"
    THIN_MONTHS = "thin months"
    GAPS_BRIDGED = "gaps bridged"
    GAPS_OF_NEIGHBOURS = "gaps of neighbours"
    MOSTLY_MISSING = "mostly missing"
    NO_RAIN_ASSUMED = "no rain assumed"
    FILLED_AROUND = "filled from around"
    FILLED_FROM_OTHER = "filled from another series"
    BIAS_OF_OVERLAP = "bias of the overlap"
    FILLED_CAPPED = "filled hours capped"
    FILLED_UNCORRECTED = "filled uncorrected"
    TAKEN_FROM_OTHER = "taken from another series"
    # Archives.
    NEAREST_STATION = "nearest station"
    ARCHIVE_LACKS = "archive lacks"
    STALE_REPLY = "stale reply"
    CACHE_UNWRITABLE = "cache unwritable"
    ARCHIVE_WAITED = "archive waited for"
    UNIT_DOUBTFUL = "unit doubtful"
    HUMIDITY_FRACTIONS = "humidity turned into a fraction"
    DAYS_REPEATED = "days repeated by the hour"
    DATES_SWAPPED = "day and month swapped"
    CLOCK_DOUBTFUL = "clock doubtful"


@dataclass(frozen=True)
class Repair:
    """One thing that was repaired, decided or left out.

    Attributes
    ----------
    kind : RepairKind
        What was done.
    count : int, optional
        To how many values, hours, lines...; equal repairs of several parts add up.
    quantity : str
        Of which variable, such as "air_temperature"; "" where it is of none.
    facts : tuple of (str, value) pairs
        Further facts by name, in series units.
    """

    kind: RepairKind
    count: int | None = None
    quantity: str = ""
    facts: tuple[tuple[str, Fact], ...] = ()


def repair(
    kind: RepairKind, count: int | None = None, quantity: str = "", **facts: Fact
) -> Repair:
    """Make a repair.

    Examples
    --------
    >>> repair(RepairKind.GAPS_BRIDGED, 3, limit=6).facts
    (('limit', 6),)
    """
    number = None if count is None else int(count)
    return Repair(kind, number, quantity, tuple(sorted(facts.items())))


def counted(
    kind: RepairKind, count: int, quantity: str = "", **facts: Fact
) -> list[Repair]:
    """Return a repair as a list, which is empty when nothing was repaired."""
    return [repair(kind, count, quantity, **facts)] if count else []


def add_counts(groups: Iterable[Iterable[Repair]]) -> list[Repair]:
    """Return each different repair of several parts once, its counts added up.

    Examples
    --------
    >>> broken = [repair(RepairKind.BROKEN_LINES, 2)]
    >>> add_counts([broken, broken])[0].count
    4
    """
    totals: dict[Repair, int | None] = {}
    for item in (item for group in groups for item in group):
        key = replace(item, count=None)
        before = totals.get(key) or 0
        totals[key] = None if item.count is None else before + item.count
    return [replace(key, count=count) for key, count in totals.items()]


def repairs_to_text(repairs: Iterable[Repair]) -> str:
    """Return repairs as the JSON text that a dataset's attribute holds."""
    rows = []
    for item in repairs:
        row: dict[str, Fact] = {"kind": item.kind.value}
        if item.count is not None:
            row["count"] = item.count
        if item.quantity:
            row["quantity"] = item.quantity
        rows.append({**row, **dict(item.facts)})
    return json.dumps(rows, ensure_ascii=False)


def repairs_of(ds: xr.Dataset) -> tuple[Repair, ...]:
    """Return what was repaired in a weather series.

    In the order it was done; files of older versions hold sentences instead of values.
    Raises `ValueError` when the attribute ``repairs`` holds something else.
    """
    held = ds.attrs.get("repairs", "[]")
    if isinstance(held, list | tuple):
        return tuple(repair(RepairKind.STATED, text=str(line)) for line in held)
    try:
        rows = json.loads(str(held))
        if not isinstance(rows, list):
            raise TypeError("no list")
        return tuple(
            repair(
                RepairKind(row.pop("kind")),
                row.pop("count", None),
                row.pop("quantity", ""),
                **row,
            )
            for row in rows
        )
    except (TypeError, AttributeError, KeyError, ValueError) as error:
        raise ValueError(f"repairs are not a list of repairs: {held!r}") from error


def add_repairs(ds: xr.Dataset, *more: Repair, first: bool = False) -> xr.Dataset:
    """Return a series with further repairs after those it has, or before them."""
    parts = (more, repairs_of(ds)) if first else (repairs_of(ds), more)
    return ds.assign_attrs(repairs=repairs_to_text([*parts[0], *parts[1]]))
