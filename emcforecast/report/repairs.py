"""The words of what was repaired, decided or left out in a weather series."""

from typing import TYPE_CHECKING, Any

from emcforecast.weather.repairs import Repair, RepairKind, repairs_of

if TYPE_CHECKING:
    import xarray as xr

COST_OF_MONTHS = (
    "hours rebuilt from monthly means: the moisture of a month is then mostly within "
    "0.8 % MC outdoors (1.4 in the worst month of eight real places) and 2.1 % MC in a "
    "loft of what hourly weather would give"
)
"""What the rebuilding costs; measured where daily ranges are known."""

_K = RepairKind
_UNITS = {
    "air_temperature": "°C",
    "relative_humidity": "%",
    "precipitation": "mm",
    "wind_speed": "m/s",
    "shortwave": "W/m²",
}
_OPTIONS = {
    "wind_speed": "--wind-unit",
    "precipitation": "--precipitation-unit",
}
_EXTREMES = "mean temperature taken midway between the extremes"
_NO_UNIT = "temperature has no unit; read as"
_NO_OFFSET = "the times state no offset from UTC"
_SUMMER = "the clock keeps summer time, which was undone"
_SUSPECT = "marked suspect or wrong, left out"
_STANDARD = "local standard time taken as UTC{offset:+g} h"
#: Counts take a noun after a colon: {count:hour} is "1 hour" or "3 hours"; a noun of
#: two words after a bar is the plural, and one after a tilde comes without the number.
SENTENCES: dict[RepairKind, str] = {
    _K.STATED: "{text}",
    _K.FILES_BESIDE: "{others} in the zip beside {member}: no weather",
    _K.FILES_CONCATENATED: "{count:file} put together",
    _K.FILES_JOINED: "{count:file} joined on common times",
    _K.FORECAST_HOURS: "{count:hour} from {begins} UTC on are a weather forecast",
    _K.FORECAST_REFUSED: "no weather forecast was joined: {reason}",
    _K.FAR_FUTURE: "look at the file: {steps} of {of} are after today, up to {last}: "
    "taken as they stand, as of a projection; a clock set wrong would show so too",
    _K.DAY_FIRST: "day before month: only so do the times follow one another",
    _K.MONTH_FIRST: "month before day: only so do the times follow one another",
    _K.DATES_WITH_POINTS: "dates with points read as day.month.year",
    _K.EPOCH_SECONDS: "times read as seconds since 1970 (UTC)",
    _K.EPOCH_MILLISECONDS: "times read as milliseconds since 1970 (UTC)",
    _K.DAY_NUMBERS: "times read as spreadsheet day numbers",
    _K.HOURS_FROM_ONE: "hours are counted 1 to 24: each taken as the hour it ends",
    _K.HUMIDITY_OF_HOURS: "humidity is read at {hours} o'clock: the day's mean is "
    "taken from the mean of their vapour pressures",
    _K.INTERVAL_ENDS: "times name the end of each interval; moved to its start",
    _K.NO_LEAP_DAYS: "the calendar has no leap days: 29 February is filled like a gap",
    _K.LEAP_DAY_LEFT_OUT: "29 February left out of the typical year",
    _K.HOURS_APART: "readings are {hours:g} h apart; the hours between are bridged",
    _K.HALF_HOUR_CLOCK: "the clock is {offset:+g} h from UTC; times are moved by whole "
    "hours",
    _K.SUMMER_TIME_REPEATED: f"{{count:autumn hour}} in the file twice: {_SUMMER}",
    _K.SUMMER_TIME_SKIPPED: "the hour of the spring change is left out, and hardly "
    f"another: {_SUMMER}",
    _K.OFFSET_OF_LONGITUDE: f"{_NO_OFFSET}: taken as {{offset:+g}} h from the "
    "longitude (--utc-offset says otherwise)",
    _K.OFFSET_UNKNOWN: f"{_NO_OFFSET} and no longitude is known: taken as sun time at "
    "longitude 0 (give --utc-offset, or --longitude)",
    _K.STANDARD_TIME_GIVEN: f"{_STANDARD}, as you said",
    _K.STANDARD_TIME_OF_PLACE: f"{_STANDARD} from the place; --utc-offset corrects it",
    _K.DAYS_OF_OFFSET: "days are those of UTC{offset:+g} h",
    _K.DAYS_OF_SOLAR_TIME: "days are those of local solar time",
    _K.SOLAR_TIME: "local solar time taken as UTC{offset:+d} h from the longitude",
    _K.SHORT_LINES: "{count:line} with too few cells left out (such as '{example}')",
    _K.BROKEN_LINES: "{count:broken line} left out",
    _K.SUMMARY_ROWS: "{count:summary row} left out",
    _K.UNREADABLE_TIMES: "{lines} without a readable time left out{such}",
    _K.READINGS_WITHOUT_TIME: "{count:reading} without a time left out",
    _K.STRAY_READINGS: "{count:reading} over a year from all others left out "
    "(such as {example})",
    _K.ROWS_OUT_OF_ORDER: "{count:hour} out of order in the file; put in the order of "
    "their dates",
    _K.REPEATED_TIMES: "{count:reading} with a time already seen; averaged with the "
    "first",
    _K.REPEATED_DAYS: "{count:day} already seen; averaged with the first",
    _K.READINGS_AVERAGED: "{count:reading} averaged into {hours:hour}",
    _K.READINGS_DISAGREE: "look at the file: {count:reading} of a time already seen "
    "{count:~disagrees|disagree} on {short}, by up to {most:.1f} {difference}: are two "
    "places or loggers in it?",
    _K.COLUMN_CHOSEN: "'{column}' used for {short}",
    _K.UNREADABLE_CELLS: "cells without a number taken as missing (such as "
    "'{example}')",
    _K.UNIT_KELVIN: f"{_NO_UNIT} kelvin, as no other fits",
    _K.UNIT_OF_HUMIDITY: f"{_NO_UNIT} °{{unit}}, the only one under which temperature, "
    "dew point and relative humidity agree",
    _K.UNIT_OF_HEAT: f"{_NO_UNIT} °F, as it reaches {{most:.0f}}, which is beyond any "
    "weather in °C",
    _K.UNIT_OF_COLD: f"{_NO_UNIT} °C, as in °F the warmest of the year would be "
    "{warmest:.0f} °C",
    _K.UNIT_OF_NEIGHBOURS: f"{_NO_UNIT} °{{unit}} like its neighbours",
    _K.UNIT_FRACTION: "relative humidity never passes 1: read as a fraction",
    _K.UNIT_USUAL: "{name} has no unit; read as {unit} ({option} says otherwise)",
    _K.UNIT_DECIDED: "{sun} has no unit; read as {unit}",
    _K.UNIT_BESIDE_FAHRENHEIT: "{name} has no unit beside °F: not used (say {option})",
    _K.UNIT_UNKNOWN: "{name} has no unit: not used",
    _K.UNITS_OF_TABLE: "units taken as {units}{because}",
    _K.VARIABLE_KELVIN: "{variable} has no units; read as kelvin",
    _K.VARIABLE_FRACTION: "{variable} ranges to {top:.2f}: read as a fraction",
    _K.VARIABLE_PERCENT: "{variable} ranges to {top:.0f}: read as per cent",
    _K.VARIABLE_UNIT_UNKNOWN: "{variable} in '{units}' not used",
    _K.GRID_POINT: "nearest point{labelled} {latitude:.2f}, {longitude:.2f} taken, "
    "{distance_km:.0f} km away",
    _K.STAMPS_WITHIN: "times stand {hours:g} h into their interval; moved to its start",
    _K.TIMES_TWICE: "{count:time} {count:~comes|come} twice in the files; the first is "
    "taken",
    _K.TIMES_UNPAIRED: "{count:time} with temperature or humidity alone left out",
    _K.CALENDAR_DAYS: "the calendar ({calendar}) lacks days: {count:day} "
    "{count:~is|are} the day before, repeated",
    _K.VERSIONS_MERGED: "preliminary analyses stand where final ones lack",
    _K.MEMBER_TAKEN: "member {member} of {of} used",
    _K.VARIABLE_LEFT_OUT: "'{variable}' is not used: its {why} does not fit",
    _K.PRESSURE_OF_HEIGHTS: "pressure taken as standard at the height of each cell",
    _K.SEA_LEVEL_CORRECTED: "pressure brought from the sea to the height of each cell",
    _K.SEA_LEVEL_PRESSURE: "pressure is that at the sea and no height is given: "
    "humidity is too high, by {percent} % of itself at 1000 m; say --height",
    _K.IMPOSSIBLE_VALUES: "{count} impossible {name} {count:~value} set missing (such "
    "as {example:g} {unit_of})",
    _K.HUMIDITY_CAPPED: "{count:relative humidity value} between 100 and 105 % capped "
    "at 100 %",
    _K.STUCK_SENSOR: "look at the file: {short} stands at {level:g} {unit_of} for "
    "{hours} hours on end: is the sensor stuck?",
    _K.MISSING_THROUGHOUT: "{name} is missing throughout; not used",
    _K.MONTHS_LACKING: "{name} lacks months: not used",
    _K.MARKED_BAD: f"{{count}} {{column}} {{count:~value}} {_SUSPECT}",
    _K.MARKED_SUSPECT: "{count} {column} {count:~value} marked suspect, left out",
    _K.FAILED_CHECKS: "{count} {column_name} {count:~value} that failed the archive's "
    "checks left out",
    _K.ESTIMATED: "{count} {name} {count:~value} estimated by the archive",
    _K.MODELLED: "{count:hour} of a model, not of a station",
    _K.HUMIDITY_DERIVED: "relative humidity worked out from {name} ({all} readings)",
    _K.STANDARD_PRESSURE: "pressure taken as standard {at}",
    _K.WIND_RAISED: "wind at 2 m carried to 10 m by the logarithmic profile",
    _K.RUNNING_SUMS: "{variable} adds up over the day: taken apart into hours",
    _K.RAIN_TRACES: "{count:trace of rain|traces of rain} counted as none",
    _K.RAIN_SHARED: "{count:total} of {hours} hours of rain shared out evenly",
    _K.RAIN_BEFORE_START: "{most:g} mm of rain before the first hour left out",
    _K.RAIN_TENTHS: "rain depths are hundredths of an inch in tenths of a mm, whatever "
    "the header says: taken so",
    _K.RAIN_ABSENT: "the file holds no rain",
    _K.RAIN_ALL_ZERO: "rain is 0 all year: taken as not measured",
    _K.RAIN_SPARSE: "rain is given for {count} of {of} hours only: not used",
    _K.MEAN_OF_EXTREMES: "{daily}" + _EXTREMES,
    _K.HOURS_OF_DAYS: "hours rebuilt from {count:daily value} with the usual course of "
    "a day over {range_words}",
    _K.HOURS_OF_MONTHS: COST_OF_MONTHS,
    _K.DAILY_RANGE_UNKNOWN: "daily range of temperature unknown: taken as {taken:g} K "
    "(at a coast, where days swing less, this reads up to 1.9 % MC too damp: add "
    "columns of daily maximum and minimum)",
    _K.SUN_OF_DAILY_RANGE: "sun taken from the daily range of temperature{at_45}",
    _K.ENDS_TRIMMED: "{count:hour} without readings at the ends left out",
    _K.THIN_MONTHS: "{count:month} with over {percent:.0f} % of hours missing (first "
    "{first}): only the longest stretch without such months is used, {begin} to {end}; "
    "{left_out:hour} left out",
    _K.GAPS_BRIDGED: "{count:hour} in gaps of up to {limit} h bridged in temperature "
    "and vapour pressure",
    _K.GAPS_OF_NEIGHBOURS: "{count:hour} in longer gaps filled from the same hours of "
    "neighbouring days",
    _K.MOSTLY_MISSING: "{name} is missing in {count:hour}, over half of them; not used",
    _K.NO_RAIN_ASSUMED: "{count:hour} without {name} taken as no rain",
    _K.FILLED_AROUND: "{count:hour} without {name} filled from the hours and days "
    "around",
    _K.FILLED_FROM_OTHER: "{count:hour} of {of} filled from {source}: temperature "
    "shifted by {least_shift:+.2f} to {most_shift:+.2f} K and vapour pressure scaled "
    "by {least_ratio:.3f} to {most_ratio:.3f}, by calendar month",
    _K.BIAS_OF_OVERLAP: "months {months} have too few hours in common: the bias of the "
    "whole overlap was used",
    _K.FILLED_CAPPED: "{count:filled hour} above 100 % capped",
    _K.FILLED_UNCORRECTED: "{count:hour} of {name} filled, uncorrected",
    _K.TAKEN_FROM_OTHER: "{name} taken from the other series throughout",
    _K.NEAREST_STATION: "nearest station: {station_words}",
    _K.ARCHIVE_LACKS: "the archive has nothing for {spans}",
    _K.STALE_REPLY: "{archive} could not be asked anew; using what was kept on {day}",
    _K.CACHE_UNWRITABLE: "replies cannot be kept in {folder} ({reason}); set "
    "{variable} to a folder that can be written",
    _K.UNIT_DOUBTFUL: "look at the file: read as °{read}, the warmest tenth of its "
    "hours begins at {warm:.0f} °C; if it is in °{other}, say so with "
    "--temperature-unit",
    _K.HUMIDITY_FRACTIONS: "{count:hour} of humidity of 1 % or less left out: they "
    "look like fractions among per cent",
    _K.DAYS_REPEATED: "look at the file: each of {count:day} has one temperature all "
    "day, as of daily means; give the days themselves, so that their course is rebuilt",
    _K.DATES_SWAPPED: "look at the file: the first 12 days of the months differ "
    "{ratio:.1f} times as much as the others; day and month seem swapped there",
    _K.CLOCK_DOUBTFUL: "look at the file: by the {by}, its clock is about {off:+.0f} h "
    "off the sun of that longitude; check it, or say --utc-offset",
    _K.ARCHIVE_WAITED: "{host} is busy; waiting {seconds:.0f} s before asking again",
}


class _Count(int):
    """A count that is formatted with its noun."""

    def __format__(self, spec: str) -> str:
        if not spec or not spec.lstrip("~")[:1].isalpha():
            return format(int(self), spec)
        one, _, many = spec.lstrip("~").partition("|")
        noun = one if self == 1 else many or f"{one}s"
        return noun if spec.startswith("~") else f"{int(self)} {noun}"


def repair_sentence(repair: Repair) -> str:
    """Say a repair in one sentence without its full stop.

    Examples
    --------
    >>> repair_sentence(Repair(RepairKind.BROKEN_LINES, 1))
    '1 broken line left out'
    """
    facts = dict(repair.facts)
    values: dict[str, Any] = {
        name: _Count(value) if type(value) is int else value
        for name, value in facts.items()
    }
    values |= {"count": _Count(repair.count or 0), **_words(repair, facts)}
    return SENTENCES[repair.kind].format_map(values)


def repair_sentences(weather: "xr.Dataset") -> list[str]:
    """Say every repair of a weather series, one sentence each."""
    return [repair_sentence(item) for item in repairs_of(weather)]


def _words(repair: Repair, facts: dict[str, Any]) -> dict[str, str]:
    """Return the words that depend on more than one value."""
    name = repair.quantity.replace("_", " ")
    short = name.removeprefix("air ")
    count, kind = _Count(repair.count or 0), repair.kind
    words = {
        "name": name,
        "short": short,
        "sun": "sun" if repair.quantity == "shortwave" else name,
        "unit_of": _UNITS.get(repair.quantity, ""),
        "difference": "K" if repair.quantity == "air_temperature" else "%",
        "option": _OPTIONS.get(repair.quantity, ""),
        "all": "all" if repair.count is None else str(repair.count),
        "daily": "daily " if facts.get("step") == "day" else "",
    }
    if kind is RepairKind.UNIT_DECIDED:
        words["unit"] = str(facts["unit"]).replace("m2", "m²")
    elif kind is RepairKind.FAR_FUTURE:
        words["steps"] = format(count, str(facts["step"]))
    elif kind is RepairKind.UNREADABLE_TIMES:
        example = facts.get("example")
        words["lines"] = format(count, "row" if example is None else "line")
        words["such"] = "" if example is None else f" (such as '{example}')"
    elif kind is RepairKind.UNITS_OF_TABLE:
        american = facts["system"] == "us"
        words["units"] = "°F, inches and mph" if american else "°C, mm and m/s"
        words["because"] = ", as its humidity shows" if facts["by"] else ""
    elif kind is RepairKind.GRID_POINT:
        words["labelled"] = f" ({facts['label']})" if facts["label"] else ""
    elif kind is RepairKind.FAILED_CHECKS:
        words["column_name"] = str(facts["column"]).replace("_", " ")
    elif kind is RepairKind.STANDARD_PRESSURE:
        height = facts["elevation"]
        words["at"] = "at sea level" if height is None else f"at {height:g} m"
    elif kind is RepairKind.SEA_LEVEL_PRESSURE:
        words["percent"] = f"{100.0 * float(facts['too_high_at_1000_m']):.0f}"
    elif kind is RepairKind.HOURS_OF_DAYS:
        span = facts["range"]
        own = "their own range"
        words["range_words"] = own if span is None else f"a range of {span:g} K"
    elif kind is RepairKind.SUN_OF_DAILY_RANGE:
        taken = facts["taken"]
        words["at_45"] = (
            "" if taken is None else f", at {_half(taken)} for want of a latitude"
        )
    elif kind is RepairKind.NEAREST_STATION:
        words["station_words"] = station_words(**facts)
    return words


def _half(latitude: float) -> str:
    return f"{abs(latitude):.0f}° {'south' if latitude < 0.0 else 'north'}"


def station_words(
    *,
    station: str,
    name: str,
    distance_km: float,
    climb_m: float | None,
    elevation: float | None,
    first: int | None,
    last: int | None,
) -> str:
    """Say a station's number, name, distance, height and years in one line."""
    height = ""
    if climb_m is not None:
        side = "higher" if climb_m > 0 else "lower"
        height = f", {abs(climb_m):.0f} m {side}"
    elif elevation is not None:
        height = f", at {elevation:.0f} m"
    years = "" if first is None else f", {first} to {last or 'now'}"
    return f"{station} {name}: {distance_km:.0f} km away{height}{years}"
