"""The layout of `floor` for a person, its rows and its JSON result."""

import textwrap
from collections.abc import Sequence
from itertools import zip_longest
from typing import Any

from emcforecast.cautions import Caution
from emcforecast.dates import MONTHS
from emcforecast.ensemble.percentiles import Range
from emcforecast.forecast.floor_result import Floor, Lowest, Month, SettingFloor
from emcforecast.report.boards import board_result
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.storage import fallback_words
from emcforecast.report.words import SHORT_MONTHS, capital, is_narrow, wrapped
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem, celsius_to_fahrenheit

TWO_WAYS = (
    "Go by the board's own columns. EMC is what the air alone would bring a thin "
    "shaving to: hourly is the mean of every hour's, published that of the month's "
    "mean air, as printed tables reckon. Boards lag behind both; over a year those "
    "kept from rain lie nearer the published EMC"
)
ABREAST = 3
"""Settings beside one another on a screen of 80 columns."""
COLUMN = 24
"""Letters a setting's column takes."""
WIDER = (
    "The air of each month, its EMC and the mean of the boards stand on a screen of 80 "
    "columns, and in --csv FILE."
)
RAINED_ON = ", rained-on ones above either"
YEARS_LOW = (
    "The year's low lies below the months' because it falls in another month in some "
    "years."
)
IN_BRACKETS = (
    "In brackets: the same, were the place a little unlike what is taken; "
    "`emcforecast settings` tells what that is."
)


def floor_cautions(answer: Floor) -> tuple[str, ...]:
    """Return the cautions of the places; no stack stands in them yet."""
    kinds = (place.kind for place in answer.settings.values())
    return caution_words(cautions_for(kinds, also=[Caution.METER]))


def floor_text(
    answer: Floor,
    sentences: Sequence[str],
    rests_on: Sequence[str],
    system: UnitSystem,
) -> str:
    """Lay out the whole answer for a person: sentences, tables, what it rests on."""
    parts = [wrapped(line) for line in sentences]
    wet = RAINED_ON if any(s.rained_on for s in answer.settings.values()) else ""
    if is_narrow():
        parts += ["", *_tall(answer), wrapped(WIDER), ""]
        return "\n".join([*parts, *(wrapped(line) for line in rests_on)])
    parts += ["", *_overview(answer), "", wrapped(f"{TWO_WAYS}{wet}."), ""]
    for setting in answer.settings.values():
        parts += [*_details(setting, system), ""]
    parts += [wrapped(line) for line in rests_on]
    return "\n".join(parts)


def _tall(answer: Floor) -> list[str]:
    """Lay the overview out for a phone: one setting below the other."""
    many = len(answer.years) > 1
    lines = wrapped("Lowest moisture of each month, % of oven-dry mass").splitlines()
    if many:
        lines.append("driest in ten | middle | dampest")
    for setting in answer.settings.values():
        place = setting.lowest.place
        lines += [
            "",
            wrapped(f"{capital(setting.name)}: {KINDS[setting.kind].title}"),
            *(
                f"{name:<10}{_range(month.lowest)}"
                for name, month in zip(MONTHS, setting.months, strict=True)
            ),
            f"year low  {_least(setting.lowest)}",
            f"         ({place.low:.1f} to {place.high:.1f})",
        ]
    return [*lines, "", wrapped(f"{YEARS_LOW} {IN_BRACKETS}" if many else IN_BRACKETS)]


def _overview(answer: Floor) -> list[str]:
    many = len(answer.years) > 1
    lines = ["Lowest moisture of each month, % of oven-dry mass"]
    lines.append(
        "  driest year in ten | middle year | dampest in ten"
        if many
        else "  one year of weather: no range over years"
    )
    settings = list(answer.settings.values())
    for first in range(0, len(settings), ABREAST):
        lines += [""] * (first > 0)
        lines += _side_by_side(settings[first : first + ABREAST])
    lines += wrapped(f"{YEARS_LOW} {IN_BRACKETS}" if many else IN_BRACKETS).splitlines()
    return lines


def _side_by_side(settings: Sequence[SettingFloor]) -> list[str]:
    """Lay up to three settings out beside one another."""

    def row(cells: Sequence[str]) -> str:
        return "".join(f"{cell:<{COLUMN}}" for cell in cells).rstrip()

    lines = [f"{' ' * 11}{row([s.name[: COLUMN - 1] for s in settings])}"]
    titles = [textwrap.wrap(KINDS[s.kind].title, COLUMN - 2) for s in settings]
    for words in zip_longest(*titles, fillvalue=""):
        lines.append(f"{' ' * 11}{row(words)}")
    for index, name in enumerate(MONTHS):
        cells = [_range(s.months[index].lowest) for s in settings]
        lines.append(f"{name:<10}{row(cells)}")
    lines.append(f"year low  {row([_least(s.lowest) for s in settings])}")
    ends = [
        f"({s.lowest.place.low:.1f} to {s.lowest.place.high:.1f})" for s in settings
    ]
    return [*lines, f"{' ' * 9}{row(ends)}"]


def _range(value: Range) -> str:
    if value.p10 is None or value.p90 is None:
        return f"{value.p50:4.1f}"
    return f"{value.p10:4.1f} | {value.p50:4.1f} | {value.p90:4.1f}"


def _least(value: Lowest) -> str:
    return f"{value.p50:4.1f} usually {MONTHS[value.month - 1]}"


def _details(setting: SettingFloor, system: UnitSystem) -> list[str]:
    degree = "°F" if system == "us" else "°C"
    head = f"{capital(setting.name)}: {KINDS[setting.kind].title}"
    lines = [
        head,
        "        air   humidity   EMC of the air, %   board, % MC  its lowest, % MC",
        f"        {degree}      % RH     hourly published       mean     "
        + (
            " driest middle dampest"
            if setting.lowest.p10 is not None
            else "of the month"
        ),
    ]
    lines += [_detail(month, system) for month in setting.months]
    return lines


def _detail(month: Month, system: UnitSystem) -> str:
    t = month.air_temperature
    t = celsius_to_fahrenheit(t) if system == "us" else t
    low = month.lowest
    lowest = (
        f"{low.p50:6.1f}"
        if low.p10 is None or low.p90 is None
        else f"{low.p10:6.1f} {low.p50:6.1f} {low.p90:7.1f}"
    )
    return (
        f"{SHORT_MONTHS[month.month - 1]:<5}{t:6.1f} {month.relative_humidity:8.0f} "
        f"{month.emc:11.1f} {month.published_basis_emc:8.1f} "
        f"{month.mean:12.1f}     {lowest}"
    )


def floor_rows(answer: Floor) -> list[dict[str, Any]]:
    """Return the table as rows: one a setting and month; °C, %, % MC."""
    return [
        {
            "setting": name,
            "kind": setting.kind,
            "month": m.month,
            "air_temperature_c": m.air_temperature,
            "relative_humidity_pct": m.relative_humidity,
            "emc_pct": m.emc,
            "published_basis_emc_pct": m.published_basis_emc,
            "mean_mc_pct": m.mean,
            "lowest_p10_mc_pct": m.lowest.p10,
            "lowest_p50_mc_pct": m.lowest.p50,
            "lowest_p90_mc_pct": m.lowest.p90,
            "lowest_place_low_mc_pct": m.place.low,
            "lowest_place_high_mc_pct": m.place.high,
        }
        for name, setting in answer.settings.items()
        for m in setting.months
    ]


def floor_result(answer: Floor, sentences: Sequence[str]) -> dict[str, Any]:
    """Return the JSON result."""
    return {
        "board": board_result(answer.board),
        "settings": {
            name: {
                "kind": setting.kind,
                "months": setting.months,
                "lowest": setting.lowest,
                "rain_counted": setting.rained_on,
                "sentence": line,
                "fallbacks": fallback_words(setting.fallbacks),
            }
            for (name, setting), line in zip(
                answer.settings.items(), sentences, strict=True
            )
        },
    }
