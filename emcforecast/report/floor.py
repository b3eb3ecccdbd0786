"""The layout of `floor` for a person, its rows and its JSON result."""

import textwrap
from collections.abc import Sequence
from itertools import zip_longest
from typing import Any

from emcforecast.cautions import Caution
from emcforecast.dates import MONTHS
from emcforecast.ensemble.percentiles import YearRange
from emcforecast.forecast.floor_result import Floor, Lowest, Month, SettingFloor
from emcforecast.forecast.targets import Target
from emcforecast.report.boards import board_result
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.floor_sentences import (
    back_above,
    board_words,
    ends_of_years,
    target_sentence,
    title_of,
    when_lowest,
)
from emcforecast.report.storage import fallback_words
from emcforecast.report.tables import over_years, place_lines, whole_range
from emcforecast.report.words import (
    ENOUGH_YEARS,
    SHORT_MONTHS,
    capital,
    is_narrow,
    listed,
    wrapped,
)
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem, celsius_to_fahrenheit

WIDEST_NAME = 24
"""Letters of a place's name before its numbers."""
ABREAST = 3
"""Places beside one another on a screen of 80 columns."""
COLUMN = 24
"""Letters a place's column takes in the tables by month."""
EMC_WORDS = (
    "EMC, equilibrium moisture content, is what the air alone would bring a thin "
    "shaving to: hourly is the average of every hour's, published that of the month's "
    "average air, as in printed tables. Boards follow slowly: go by their own columns."
)
SETTLED = "Waiting longer than a year or two does not get it drier."
YEARS_LOW = (
    "The year's low is below the months' because it falls in another month in some "
    "years."
)
MORE = "By month: --months   Air and EMC: --air   Picture: --plot floor.png"


def floor_cautions(answer: Floor) -> tuple[str, ...]:
    """Return the cautions of the places; no stack stands in them yet."""
    kinds = (place.kind for place in answer.settings.values())
    return caution_words(cautions_for(kinds, also=[Caution.METER]))


def floor_text(
    answer: Floor,
    targets: Sequence[Target],
    based_on: Sequence[str],
    system: UnitSystem,
    *,
    months: bool = False,
    air: bool = False,
) -> str:
    """Lay out the answer for a person.

    Parameters
    ----------
    answer : Floor
        What `floor` found.
    targets : sequence of Target
        Moisture contents to judge the places by.
    based_on : sequence of str
        What weather it is based on.
    system : {"us", "si"}
        Units of lengths and temperatures.
    months, air : bool
        Whether the lowest of each month, and the air of each month, are shown.
    """
    parts = [wrapped(f"{capital(board_words(answer, system))}: how dry it gets, % MC")]
    parts += _rows(answer) if not is_narrow() else _paragraphs(answer)
    parts += [wrapped(target_sentence(answer, target)) for target in targets]
    parts.append(wrapped(floor_closing(answer)))
    if months:
        parts += ["", *(_tall(answer) if is_narrow() else _overview(answer))]
    if air:
        parts += ["", wrapped(EMC_WORDS)]
        for setting in answer.settings.values():
            parts += ["", *_details(setting, system)]
    if months or air:
        parts.append("")
    parts += [wrapped(line) for line in based_on]
    return "\n".join(parts if months and air else [*parts, wrapped(MORE)])


def _rows(answer: Floor) -> list[str]:
    """Lay out a line a place."""
    told = place_lines(answer)
    wide = min(max(len(one.name) for one in told), WIDEST_NAME) + 2
    head = over_years(answer)
    lines = [f"{'':<{wide}}{'driest':<7}{'when':<16}{head:<14}above again"]
    for one in told:
        name = one.name
        if len(name) > WIDEST_NAME:
            lines.append(name)  # On a line of its own: nothing is cut off.
            name = ""
        lines.append(
            f"{name:<{wide}}{one.driest:<7}{one.when:<16}{one.over_years:<14}"
            f"{one.again}"
        )
    return [line.rstrip() for line in lines]


def _paragraphs(answer: Floor) -> list[str]:
    """Lay out a paragraph a place, for a phone."""
    head, many = over_years(answer), len(answer.years)
    lines = []
    for name, setting in answer.settings.items():
        level, back = back_above(setting)
        ends = ends_of_years(setting.lowest, many)
        over = "" if ends is None else f" ({head}: {whole_range(ends)})"
        after = "" if back is None else f", above {level} % again in {MONTHS[back - 1]}"
        text = (
            f"{capital(title_of(answer, name))}: {setting.lowest.p50:.0f} % in "
            f"{when_lowest(setting)}{over}{after}"
        )
        lines.append(wrapped(text, rest="  "))
    return lines


def floor_closing(answer: Floor) -> str:
    """Say that waiting gains nothing, and how far the lows move if a place differs."""
    spans = [setting.lowest.place for setting in answer.settings.values()]
    said = listed([f"{place.low:.1f} to {place.high:.1f}" for place in spans])
    return (
        f"{SETTLED} If your place differs from the assumed (`emcforecast settings`): "
        f"{said} %."
    )


def months_head(answer: Floor) -> str:
    """Say what the numbers of a month are."""
    many = len(answer.years)
    if many < 2:
        return "one year of weather: no range over years"
    if many < ENOUGH_YEARS:
        return f"driest | middle | dampest of {many} years"
    return "driest year in ten | middle year | dampest in ten"


def _tall(answer: Floor) -> list[str]:
    """Lay the months out for a phone: one place below the other."""
    lines = wrapped("Lowest moisture of each month, % of oven-dry mass").splitlines()
    lines += wrapped(months_head(answer)).splitlines()
    for setting in answer.settings.values():
        lines += [
            "",
            wrapped(f"{capital(setting.name)}: {KINDS[setting.kind].title}"),
            *(
                f"{name:<10}{_range(month.lowest, answer)}"
                for name, month in zip(MONTHS, setting.months, strict=True)
            ),
            f"year low  {_least(setting.lowest)}",
        ]
    return [*lines, *([wrapped(YEARS_LOW)] if len(answer.years) > 1 else [])]


def _overview(answer: Floor) -> list[str]:
    lines = ["Lowest moisture of each month, % of oven-dry mass"]
    lines.append(f"  {months_head(answer)}")
    settings = list(answer.settings.values())
    for first in range(0, len(settings), ABREAST):
        lines += [""] * (first > 0)
        lines += _side_by_side(answer, settings[first : first + ABREAST])
    return [*lines, *(wrapped(YEARS_LOW).splitlines() if len(answer.years) > 1 else [])]


def _side_by_side(answer: Floor, settings: Sequence[SettingFloor]) -> list[str]:
    """Lay up to three places out beside one another."""

    def row(cells: Sequence[str]) -> str:
        return "".join(f"{cell:<{COLUMN}}" for cell in cells).rstrip()

    lines = [f"{' ' * 11}{row([s.name[: COLUMN - 1] for s in settings])}"]
    titles = [textwrap.wrap(KINDS[s.kind].title, COLUMN - 2) for s in settings]
    for words in zip_longest(*titles, fillvalue=""):
        lines.append(f"{' ' * 11}{row(words)}")
    for index, name in enumerate(MONTHS):
        cells = [_range(s.months[index].lowest, answer) for s in settings]
        lines.append(f"{name:<10}{row(cells)}")
    return [*lines, f"year low  {row([_least(s.lowest) for s in settings])}"]


def _range(value: YearRange, answer: Floor) -> str:
    ends = ends_of_years(value, len(answer.years))
    if ends is None:
        return f"{value.p50:4.1f}"
    return f"{ends[0]:4.1f} | {value.p50:4.1f} | {ends[1]:4.1f}"


def _least(value: Lowest) -> str:
    often = "in" if value.p10 is None else "mostly"
    return f"{value.p50:4.1f} {often} {MONTHS[value.month - 1]}"


def _details(setting: SettingFloor, system: UnitSystem) -> list[str]:
    degree = "°F" if system == "us" else "°C"
    head = f"{capital(setting.name)}: {KINDS[setting.kind].title}"
    if is_narrow():
        return [
            wrapped(head),
            f"        {degree}  % RH    EMC  board",
            *(
                f"{SHORT_MONTHS[m.month - 1]:<4}{_warmth(m, system):6.1f}"
                f"{m.relative_humidity:6.0f} {m.emc:6.1f} {m.mean:6.1f}"
                for m in setting.months
            ),
        ]
    return [
        head,
        "        air   humidity   EMC of the air, %   board, % MC",
        f"        {degree}      % RH     hourly published       average",
        *(_detail(month, system) for month in setting.months),
    ]


def _warmth(month: Month, system: UnitSystem) -> float:
    t = month.air_temperature
    return celsius_to_fahrenheit(t) if system == "us" else t


def _detail(month: Month, system: UnitSystem) -> str:
    return (
        f"{SHORT_MONTHS[month.month - 1]:<5}{_warmth(month, system):6.1f} "
        f"{month.relative_humidity:8.0f} {month.emc:11.1f} "
        f"{month.published_basis_emc:8.1f} {month.mean:13.1f}"
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
