"""What is said of each kind of repair of a weather series."""

from typing import TYPE_CHECKING

from emcforecast.language import N_, NN_
from emcforecast.weather.repairs import RepairKind

if TYPE_CHECKING:
    pass


COST_OF_MONTHS = N_(
    "hours rebuilt from monthly means: the moisture of a month is then mostly within "
    "0.8 % MC outdoors (1.4 in the worst month of eight real places) and 2.1 % MC in a "
    "loft of what hourly weather would give"
)
"""What the rebuilding costs; measured where daily ranges are known."""


_K = RepairKind


UNITS = {
    "air_temperature": "°C",
    "relative_humidity": "%",
    "precipitation": "mm",
    "wind_speed": "m/s",
    "shortwave": "W/m²",
}


OPTIONS = {
    "wind_speed": "--wind-unit",
    "precipitation": "--precipitation-unit",
}


STEPS = {
    "hour": NN_("{count} hour", "{count} hours"),
    "day": NN_("{count} day", "{count} days"),
    "month": NN_("{count} month", "{count} months"),
    "row": NN_("{count} row", "{count} rows"),
    "line": NN_("{count} line", "{count} lines"),
}


DAILY_MEAN = N_("daily mean temperature taken midway between the extremes")


#: A sentence, or one for a single thing and one for more; each without its full stop.
Message = str | tuple[str, str]

SENTENCES: dict[RepairKind, Message] = {
    _K.STATED: "{text}",
    _K.FILES_BESIDE: N_("{others} in the zip beside {member}: no weather"),
    _K.FILES_CONCATENATED: NN_(
        "{count} file put together",
        "{count} files put together",
    ),
    _K.FILES_JOINED: NN_(
        "{count} file joined on common times",
        "{count} files joined on common times",
    ),
    _K.FORECAST_HOURS: NN_(
        "{count} hour from {begins} UTC on are a weather forecast",
        "{count} hours from {begins} UTC on are a weather forecast",
    ),
    _K.FORECAST_REFUSED: N_("no weather forecast was joined: {reason}"),
    _K.FAR_FUTURE: N_(
        "look at the file: {steps} of {of} are after today, up to {last}: taken as "
        "they stand, as of a projection; a clock set wrong would show so too"
    ),
    _K.DAY_FIRST: N_("day before month: only so do the times follow one another"),
    _K.MONTH_FIRST: N_("month before day: only so do the times follow one another"),
    _K.DATES_WITH_POINTS: N_("dates with points read as day.month.year"),
    _K.EPOCH_SECONDS: N_("times read as seconds since 1970 (UTC)"),
    _K.EPOCH_MILLISECONDS: N_("times read as milliseconds since 1970 (UTC)"),
    _K.DAY_NUMBERS: N_("times read as spreadsheet day numbers"),
    _K.HOURS_FROM_ONE: N_("hours are counted 1 to 24: each taken as the hour it ends"),
    _K.HUMIDITY_OF_HOURS: N_(
        "humidity is read at {hours} o'clock: the day's mean is taken from the mean "
        "of their vapour pressures"
    ),
    _K.DAYS_AT_ONE_HOUR: N_(
        "look at the file: there is a row a day, stamped {clock}: taken as the means "
        "of days; readings of one hour are no such means"
    ),
    _K.INTERVAL_ENDS: N_("times name the end of each interval; moved to its start"),
    _K.NO_LEAP_DAYS: N_(
        "the calendar has no leap days: 29 February is filled like a gap"
    ),
    _K.LEAP_DAY_LEFT_OUT: N_("29 February left out of the typical year"),
    _K.HOURS_APART: N_("readings are {hours:g} h apart; the hours between are bridged"),
    _K.HALF_HOUR_CLOCK: N_(
        "the clock is {offset:+g} h from UTC; times are moved by whole hours"
    ),
    _K.SUMMER_TIME_REPEATED: NN_(
        "{count} autumn hour in the file twice: the clock keeps summer time, which "
        "was undone",
        "{count} autumn hours in the file twice: the clock keeps summer time, which "
        "was undone",
    ),
    _K.SUMMER_TIME_SKIPPED: N_(
        "the hour of the spring change is left out, and hardly another: the clock "
        "keeps summer time, which was undone"
    ),
    _K.OFFSET_OF_LONGITUDE: N_(
        "the times state no offset from UTC: taken as {offset:+g} h from the "
        "longitude (--utc-offset says otherwise)"
    ),
    _K.OFFSET_UNKNOWN: N_(
        "the times state no offset from UTC and no longitude is known: taken as sun "
        "time at longitude 0 (give --utc-offset, or --longitude)"
    ),
    _K.STANDARD_TIME_GIVEN: N_(
        "local standard time taken as UTC{offset:+g} h, as you said"
    ),
    _K.STANDARD_TIME_OF_PLACE: N_(
        "local standard time taken as UTC{offset:+g} h from the place; --utc-offset "
        "corrects it"
    ),
    _K.DAYS_OF_OFFSET: N_("days are those of UTC{offset:+g} h"),
    _K.DAYS_OF_SOLAR_TIME: N_("days are those of local solar time"),
    _K.SOLAR_TIME: N_("local solar time taken as UTC{offset:+d} h from the longitude"),
    _K.SHORT_LINES: NN_(
        "{count} line with too few cells left out (such as '{example}')",
        "{count} lines with too few cells left out (such as '{example}')",
    ),
    _K.BROKEN_LINES: NN_(
        "{count} broken line left out",
        "{count} broken lines left out",
    ),
    _K.SUMMARY_ROWS: NN_(
        "{count} summary row left out",
        "{count} summary rows left out",
    ),
    _K.UNREADABLE_TIMES: N_("{lines} without a readable time left out{such}"),
    _K.READINGS_WITHOUT_TIME: NN_(
        "{count} reading without a time left out",
        "{count} readings without a time left out",
    ),
    _K.STRAY_READINGS: NN_(
        "{count} reading over a year from all others left out (such as {example})",
        "{count} readings over a year from all others left out (such as {example})",
    ),
    _K.ROWS_OUT_OF_ORDER: NN_(
        "{count} hour out of order in the file; put in the order of their dates",
        "{count} hours out of order in the file; put in the order of their dates",
    ),
    _K.REPEATED_TIMES: NN_(
        "{count} reading with a time already seen; averaged with the first",
        "{count} readings with a time already seen; averaged with the first",
    ),
    _K.REPEATED_DAYS: NN_(
        "{count} day already seen; averaged with the first",
        "{count} days already seen; averaged with the first",
    ),
    _K.READINGS_AVERAGED: NN_(
        "{count} reading averaged into {hours_words}",
        "{count} readings averaged into {hours_words}",
    ),
    _K.READINGS_DISAGREE: NN_(
        "look at the file: {count} reading of a time already seen disagrees on "
        "{short}, by up to {most:.1f} {difference}: are two places or loggers in it?",
        "look at the file: {count} readings of a time already seen disagree on "
        "{short}, by up to {most:.1f} {difference}: are two places or loggers in it?",
    ),
    _K.COLUMN_CHOSEN: N_("'{column}' used for {short}"),
    _K.UNREADABLE_CELLS: N_(
        "cells without a number taken as missing (such as '{example}')"
    ),
    _K.UNIT_KELVIN: N_("temperature has no unit; read as kelvin, as no other fits"),
    _K.UNIT_OF_HUMIDITY: N_(
        "temperature has no unit; read as °{unit}, the only one under which "
        "temperature, dew point and relative humidity agree"
    ),
    _K.UNIT_OF_HEAT: N_(
        "temperature has no unit; read as °F, as it reaches {most:.0f}, which is "
        "beyond any weather in °C"
    ),
    _K.UNIT_OF_COLD: N_(
        "temperature has no unit; read as °C, as in °F the warmest of the year would "
        "be {warmest:.0f} °C"
    ),
    _K.UNIT_OF_NEIGHBOURS: N_(
        "temperature has no unit; read as °{unit} like its neighbours"
    ),
    _K.UNIT_FRACTION: N_("relative humidity never passes 1: read as a fraction"),
    _K.UNIT_USUAL: N_("{name} has no unit; read as {unit} ({option} says otherwise)"),
    _K.UNIT_DECIDED: N_("{sun} has no unit; read as {unit}"),
    _K.UNIT_BESIDE_FAHRENHEIT: N_(
        "{name} has no unit beside °F: not used (say {option})"
    ),
    _K.UNIT_UNKNOWN: N_("{name} has no unit: not used"),
    _K.UNITS_OF_TABLE: N_("units taken as {units}{because}"),
    _K.VARIABLE_KELVIN: N_("{variable} has no units; read as kelvin"),
    _K.VARIABLE_FRACTION: N_("{variable} ranges to {top:.2f}: read as a fraction"),
    _K.VARIABLE_PERCENT: N_("{variable} ranges to {top:.0f}: read as per cent"),
    _K.VARIABLE_UNIT_UNKNOWN: N_("{variable} in '{units}' not used"),
    _K.GRID_POINT: N_(
        "nearest point{labelled} {latitude:.2f}, {longitude:.2f} taken, "
        "{distance_km:.0f} km away"
    ),
    _K.STAMPS_WITHIN: N_(
        "times stand {hours:g} h into their interval; moved to its start"
    ),
    _K.TIMES_TWICE: NN_(
        "{count} time comes twice in the files; the first is taken",
        "{count} times come twice in the files; the first is taken",
    ),
    _K.TIMES_UNPAIRED: NN_(
        "{count} time with temperature or humidity alone left out",
        "{count} times with temperature or humidity alone left out",
    ),
    _K.CALENDAR_DAYS: NN_(
        "the calendar ({calendar}) lacks days: {count} day is the day before, repeated",
        "the calendar ({calendar}) lacks days: {count} days are the day before, "
        "repeated",
    ),
    _K.VERSIONS_MERGED: N_("preliminary analyses stand where final ones lack"),
    _K.MEMBER_TAKEN: N_("member {member} of {of} used"),
    _K.VARIABLE_LEFT_OUT: N_("'{variable}' is not used: its {why} does not fit"),
    _K.PRESSURE_OF_HEIGHTS: N_("pressure taken as standard at the height of each cell"),
    _K.SEA_LEVEL_CORRECTED: N_(
        "pressure brought from the sea to the height of each cell"
    ),
    _K.SEA_LEVEL_PRESSURE: N_(
        "pressure is that at the sea and no height is given: humidity is too high, by "
        "{percent} % of itself at 1000 m; say --height"
    ),
    _K.IMPOSSIBLE_VALUES: NN_(
        "{count} impossible {name} value set missing (such as {example:g} {unit_of})",
        "{count} impossible {name} values set missing (such as {example:g} {unit_of})",
    ),
    _K.HUMIDITY_CAPPED: NN_(
        "{count} relative humidity value between 100 and 105 % capped at 100 %",
        "{count} relative humidity values between 100 and 105 % capped at 100 %",
    ),
    _K.MARKS_OF_MISSING: NN_(
        "{count} {name} value of {value:g} {unit_of} left out: it stands alone between "
        "far others, as a mark of what is missing",
        "{count} {name} values of {value:g} {unit_of} left out: each stands alone "
        "between far others, as a mark of what is missing",
    ),
    _K.LEAPS: NN_(
        "look at the file: {count} {name} value is far from both the hour before and "
        "the hour after it, as air never is (such as {example:g} {unit_of})",
        "look at the file: {count} {name} values are far from both the hour before and "
        "the hour after them, as air never is (such as {example:g} {unit_of})",
    ),
    _K.HUMIDITY_DOUBTFUL: N_(
        "look at the file: its humidity is {mean:.1f} % on average, as in no climate: "
        "is it relative humidity, in per cent, and are the units right?"
    ),
    _K.STUCK_SENSOR: N_(
        "look at the file: {short} stands at {level:g} {unit_of} for {hours} hours on "
        "end: is the sensor stuck?"
    ),
    _K.MISSING_THROUGHOUT: N_("{name} is missing throughout; not used"),
    _K.MONTHS_LACKING: N_("{name} lacks months: not used"),
    _K.MONTHS_FAR_OFF: NN_(
        "look at the file: {name} in {when} is {value:.1f} {unit_of}, but {before:.1f} "
        "and {after:.1f} in the months around it; hardly any climate leaps so",
        "look at the file: {name} leaps in {count} months as in hardly any climate, "
        "most in {when}: {value:.1f} {unit_of}, but {before:.1f} and {after:.1f} in "
        "the months around it",
    ),
    _K.MARKED_BAD: NN_(
        "{count} {column} value marked suspect or wrong, left out",
        "{count} {column} values marked suspect or wrong, left out",
    ),
    _K.MARKED_SUSPECT: NN_(
        "{count} {column} value marked suspect, left out",
        "{count} {column} values marked suspect, left out",
    ),
    _K.FAILED_CHECKS: NN_(
        "{count} {column_name} value that failed the archive's checks left out",
        "{count} {column_name} values that failed the archive's checks left out",
    ),
    _K.ESTIMATED: NN_(
        "{count} {name} value estimated by the archive",
        "{count} {name} values estimated by the archive",
    ),
    _K.MODELLED: NN_(
        "{count} hour of a model, not of a station",
        "{count} hours of a model, not of a station",
    ),
    _K.HUMIDITY_DERIVED: N_(
        "relative humidity worked out from {name} ({all} readings)"
    ),
    _K.STANDARD_PRESSURE: N_("pressure taken as standard {at}"),
    _K.WIND_RAISED: N_("wind at 2 m carried to 10 m by the logarithmic profile"),
    _K.RUNNING_SUMS: N_("{variable} adds up over the day: taken apart into hours"),
    _K.RAIN_OF_DAYS: N_("rain adds up over the day: taken apart into its amounts"),
    _K.RAIN_COUNTER: N_("rain is a counter that only rises: its steps are the rain"),
    _K.RAIN_TRACES: NN_(
        "{count} trace of rain counted as none",
        "{count} traces of rain counted as none",
    ),
    _K.RAIN_SHARED: NN_(
        "{count} total of {hours} hours of rain shared out evenly",
        "{count} totals of {hours} hours of rain shared out evenly",
    ),
    _K.RAIN_BEFORE_START: N_("{most:g} mm of rain before the first hour left out"),
    _K.RAIN_TENTHS: N_(
        "rain depths are hundredths of an inch in tenths of a mm, whatever the header "
        "says: taken so"
    ),
    _K.RAIN_ABSENT: N_("the file holds no rain"),
    _K.RAIN_ALL_ZERO: N_("rain is 0 all year: taken as not measured"),
    _K.RAIN_SPARSE: N_("rain is given for {count} of {of} hours only: not used"),
    _K.MEAN_OF_EXTREMES: N_("mean temperature taken midway between the extremes"),
    _K.HOURS_OF_DAYS: NN_(
        "hours rebuilt from {count} daily value with the usual course of a day over "
        "{range_words}",
        "hours rebuilt from {count} daily values with the usual course of a day over "
        "{range_words}",
    ),
    _K.HOURS_OF_MONTHS: N_(
        "hours rebuilt from monthly means: the moisture of a month is then mostly "
        "within 0.8 % MC outdoors (1.4 in the worst month of eight real places) and "
        "2.1 % MC in a loft of what hourly weather would give"
    ),
    _K.DAILY_RANGE_UNKNOWN: N_(
        "daily range of temperature unknown: taken as {taken:g} K (at a coast, where "
        "days swing less, this reads up to 1.9 % MC too damp: add columns of daily "
        "maximum and minimum)"
    ),
    _K.SUN_OF_DAILY_RANGE: N_("sun taken from the daily range of temperature{at_45}"),
    _K.ENDS_TRIMMED: NN_(
        "{count} hour without readings at the ends left out",
        "{count} hours without readings at the ends left out",
    ),
    _K.THIN_MONTHS: NN_(
        "{count} month with over {percent:.0f} % of hours missing (first {first}): "
        "only the longest stretch without such months is used, {begin} to {end}; "
        "{left_out_words} left out",
        "{count} months with over {percent:.0f} % of hours missing (first {first}): "
        "only the longest stretch without such months is used, {begin} to {end}; "
        "{left_out_words} left out",
    ),
    _K.GAPS_BRIDGED: NN_(
        "{count} hour in gaps of up to {limit} h bridged in temperature and vapour "
        "pressure",
        "{count} hours in gaps of up to {limit} h bridged in temperature and vapour "
        "pressure",
    ),
    _K.GAPS_OF_NEIGHBOURS: NN_(
        "{count} hour in longer gaps filled from the same hours of neighbouring days",
        "{count} hours in longer gaps filled from the same hours of neighbouring days",
    ),
    _K.MOSTLY_MISSING: NN_(
        "{name} is missing in {count} hour, over half of them; not used",
        "{name} is missing in {count} hours, over half of them; not used",
    ),
    _K.NO_RAIN_ASSUMED: NN_(
        "{count} hour without {name} taken as no rain",
        "{count} hours without {name} taken as no rain",
    ),
    _K.FILLED_AROUND: NN_(
        "{count} hour without {name} filled from the hours and days around",
        "{count} hours without {name} filled from the hours and days around",
    ),
    _K.FILLED_FROM_OTHER: NN_(
        "{count} hour of {of} filled from {source}: temperature shifted by "
        "{least_shift:+.2f} to {most_shift:+.2f} K and vapour pressure scaled by "
        "{least_ratio:.3f} to {most_ratio:.3f}, by calendar month",
        "{count} hours of {of} filled from {source}: temperature shifted by "
        "{least_shift:+.2f} to {most_shift:+.2f} K and vapour pressure scaled by "
        "{least_ratio:.3f} to {most_ratio:.3f}, by calendar month",
    ),
    _K.BIAS_OF_OVERLAP: N_(
        "months {months} have too few hours in common: the bias of the whole overlap "
        "was used"
    ),
    _K.FILLED_CAPPED: NN_(
        "{count} filled hour above 100 % capped",
        "{count} filled hours above 100 % capped",
    ),
    _K.FILLED_UNCORRECTED: NN_(
        "{count} hour of {name} filled, uncorrected",
        "{count} hours of {name} filled, uncorrected",
    ),
    _K.TAKEN_FROM_OTHER: N_("{name} taken from the other series throughout"),
    _K.NEAREST_STATION: N_("nearest station: {station_words}"),
    _K.ARCHIVE_LACKS: N_("the archive has nothing for {spans}"),
    _K.STALE_REPLY: N_(
        "{archive} could not be asked anew; using what was kept on {day}"
    ),
    _K.CACHE_UNWRITABLE: N_(
        "replies cannot be kept in {folder} ({reason}); set {variable} to a folder "
        "that can be written"
    ),
    _K.UNIT_DOUBTFUL: N_(
        "look at the file: read as °{read}, the warmest tenth of its hours begins at "
        "{warm:.0f} °C; if it is in °{other}, say so with --temperature-unit"
    ),
    _K.HUMIDITY_FRACTIONS: NN_(
        "{count} hour of humidity of 1 % or less left out: they look like fractions "
        "among per cent",
        "{count} hours of humidity of 1 % or less left out: they look like fractions "
        "among per cent",
    ),
    _K.DAYS_REPEATED: NN_(
        "look at the file: each of {count} day has one temperature all day, as of "
        "daily means; give the days themselves, so that their course is rebuilt",
        "look at the file: each of {count} days has one temperature all day, as of "
        "daily means; give the days themselves, so that their course is rebuilt",
    ),
    _K.DATES_SWAPPED: N_(
        "look at the file: the first 12 days of the months differ {ratio:.1f} times "
        "as much as the others; day and month seem swapped there"
    ),
    _K.CLOCK_DOUBTFUL: N_(
        "look at the file: by the {by}, its clock is about {off:+.0f} h off the sun "
        "of that longitude; check it, or say --utc-offset"
    ),
    _K.ARCHIVE_WAITED: N_(
        "{host} is busy; waiting {seconds:.0f} s before asking again"
    ),
}
