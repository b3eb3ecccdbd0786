"""The layout of `floor` for a person, its rows and its JSON result."""

import textwrap
from collections.abc import Sequence
from itertools import zip_longest
from typing import Any

from emcforecast.cautions import Caution
from emcforecast.dates import MONTHS, month, short_month
from emcforecast.ensemble.percentiles import YearRange
from emcforecast.forecast.floor_result import Floor, Lowest, Month, SettingFloor
from emcforecast.forecast.targets import Target
from emcforecast.language import N_, _, number, p_
from emcforecast.report.boards import board_result, board_words
from emcforecast.report.cautions import caution_words, cautions_for
from emcforecast.report.floor_sentences import (
    back_above,
    ends_of_years,
    target_sentence,
    title_of,
    when_lowest,
)
from emcforecast.report.names import place_title
from emcforecast.report.storage import fallback_words
from emcforecast.report.tables import over_years, place_lines, whole_range
from emcforecast.report.words import (
    ENOUGH_YEARS,
    WIDEST,
    capital,
    is_narrow,
    listed,
    wrapped,
)
from emcforecast.storage.kinds import SETTINGS
from emcforecast.units import UnitSystem, celsius_to_fahrenheit

FLOOR_COLUMNS = (7, 16, 14)
"""Letters the columns take at least: driest, when, over the years."""
WIDEST_NAME = 24
"""Letters of a place's name before its numbers."""
ABREAST = 3
"""Places beside one another on a screen of 80 columns."""
COLUMN = 24
"""Letters a place's column takes in the tables by month."""
EMC_WORDS = N_(
    "EMC, equilibrium moisture content, is what the air alone would bring a thin "
    "shaving to: hourly is the average of every hour's, published that of the month's "
    "average air, as in printed tables. Boards follow slowly: go by their own columns."
)
YEARS_LOW = N_(
    "The year's low is below the months' because it falls in another month in some "
    "years."
)
MORE = N_("By month: --months   Air and EMC: --air   Picture: --plot floor.png")


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
    board = capital(board_words(answer.board, system))
    parts = [wrapped(_("{board}: how dry it gets, % MC", board=board))]
    parts += _rows(answer) if not is_narrow() else _paragraphs(answer)
    parts += [wrapped(target_sentence(answer, target)) for target in targets]
    parts.append(wrapped(floor_closing(answer)))
    if months:
        parts += ["", *(_tall(answer) if is_narrow() else _overview(answer))]
    if air:
        parts += ["", wrapped(_(EMC_WORDS))]
        for setting in answer.settings.values():
            parts += ["", *_details(setting, system)]
    if months or air:
        parts.append("")
    parts += [wrapped(line) for line in based_on]
    return "\n".join(parts if months and air else [*parts, wrapped(_(MORE))])


def _rows(answer: Floor) -> list[str]:
    """Lay out a line a place."""
    told = place_lines(answer)
    head = (
        p_("floor table", "driest"),
        p_("floor table", "when"),
        over_years(answer),
        p_("floor table", "above again"),
    )
    rows = [(one.driest, one.when, one.over_years, one.again) for one in told]
    columns = [
        max(letters, *(len(row[k]) + 1 for row in (head, *rows)))
        for k, letters in enumerate(FLOOR_COLUMNS)
    ]
    last = max(len(row[-1]) for row in (head, *rows))
    names = [one.name for one in told]
    room = min(WIDEST_NAME, WIDEST - sum(columns) - last - 2)
    wide = min(max(len(name) for name in names), room) + 2
    lines = []
    for name, row in zip(["", *names], (head, *rows), strict=True):
        if len(name) > room:
            lines.append(name)  # On a line of its own: nothing is cut off.
        cells = zip(row, (*columns, 0), strict=True)
        said = "".join(f"{cell:<{letters}}" for cell, letters in cells)
        lines.append(f"{name if len(name) <= room else '':<{wide}}{said}".rstrip())
    return lines


def _paragraphs(answer: Floor) -> list[str]:
    """Lay out a paragraph a place, for a phone."""
    head, many = over_years(answer), len(answer.years)
    lines = []
    for name, setting in answer.settings.items():
        level, back = back_above(setting)
        ends = ends_of_years(setting.lowest, many)
        text = _(
            "{place}: {mc:.0f} % in {part_of_month}",
            place=capital(title_of(answer, name)),
            mc=setting.lowest.p50,
            part_of_month=when_lowest(setting),
        )
        if ends is not None:
            text += f" ({head}: {whole_range(ends)})"
        if back is not None:
            text += _(", above {mc} % again in {month}", mc=level, month=month(back))
        lines.append(wrapped(text, rest="  "))
    return lines


def floor_closing(answer: Floor) -> str:
    """Say that waiting gains nothing, and how far the lows move if a place differs."""
    spans = [setting.lowest.place for setting in answer.settings.values()]
    said = [
        _("{low:.1f} to {high:.1f}", low=place.low, high=place.high) for place in spans
    ]
    return _(
        "Waiting longer than a year or two does not get it drier. If your place "
        "differs from the assumed (`emcforecast settings`): {ranges} %.",
        ranges=listed(said, "and, of numbers"),
    )


def months_head(answer: Floor) -> str:
    """Say what the numbers of a month are."""
    many = len(answer.years)
    if many < 2:
        return _("one year of weather: no range over years")
    if many < ENOUGH_YEARS:
        return _("driest | middle | dampest of {years} years", years=many)
    return _("driest year in ten | middle year | dampest in ten")


def _tall(answer: Floor) -> list[str]:
    """Lay the months out for a phone: one place below the other."""
    lines = wrapped(_("Lowest moisture of each month, % of oven-dry mass")).splitlines()
    lines += wrapped(months_head(answer)).splitlines()
    for setting in answer.settings.values():
        lines += [
            "",
            wrapped(_place_head(setting)),
            *(
                f"{month(one.month):<10}{_range(one.lowest, answer)}"
                for one in setting.months
            ),
            _("year low").ljust(10) + _least(setting.lowest),
        ]
    return [*lines, *([wrapped(_(YEARS_LOW))] if len(answer.years) > 1 else [])]


def _place_head(setting: SettingFloor) -> str:
    return f"{capital(_place_name(setting))}: {place_title(setting.kind)}"


def _place_name(setting: SettingFloor) -> str:
    """Name one of the three places as `--setting` does, or as its owner."""
    return p_("setting", setting.name) if setting.name in SETTINGS else setting.name


def _overview(answer: Floor) -> list[str]:
    lines = [_("Lowest moisture of each month, % of oven-dry mass")]
    lines.append(f"  {months_head(answer)}")
    settings = list(answer.settings.values())
    for first in range(0, len(settings), ABREAST):
        lines += [""] * (first > 0)
        lines += _side_by_side(answer, settings[first : first + ABREAST])
    return [
        *lines,
        *(wrapped(_(YEARS_LOW)).splitlines() if len(answer.years) > 1 else []),
    ]


def _side_by_side(answer: Floor, settings: Sequence[SettingFloor]) -> list[str]:
    """Lay up to three places out beside one another."""

    def row(cells: Sequence[str]) -> str:
        return "".join(f"{cell:<{COLUMN}}" for cell in cells).rstrip()

    lines = [f"{' ' * 11}{row([_place_name(s)[: COLUMN - 1] for s in settings])}"]
    titles = [textwrap.wrap(place_title(s.kind), COLUMN - 2) for s in settings]
    for words in zip_longest(*titles, fillvalue=""):
        lines.append(f"{' ' * 11}{row(words)}")
    for index in range(len(MONTHS)):
        cells = [_range(s.months[index].lowest, answer) for s in settings]
        lines.append(f"{month(index + 1):<10}{row(cells)}")
    lowest = row([_least(s.lowest) for s in settings])
    return [*lines, _("year low").ljust(10) + lowest]


def _range(value: YearRange, answer: Floor) -> str:
    ends = ends_of_years(value, len(answer.years))
    if ends is None:
        return number(value.p50, "4.1f")
    return " | ".join(number(one, "4.1f") for one in (ends[0], value.p50, ends[1]))


def _least(value: Lowest) -> str:
    return _(
        N_("{mc:4.1f} in {month}")
        if value.p10 is None
        else N_("{mc:4.1f} mostly {month}"),
        mc=value.p50,
        month=month(value.month),
    )


def _details(setting: SettingFloor, system: UnitSystem) -> list[str]:
    degree = "°F" if system == "us" else "°C"
    head = _place_head(setting)
    if is_narrow():
        return [
            wrapped(head),
            _("        {degree}  % RH    EMC  board", degree=degree),
            *(
                f"{short_month(m.month):<4}{number(_warmth(m, system), '6.1f')}"
                f"{m.relative_humidity:6.0f} {number(m.emc, '6.1f')} "
                f"{number(m.mean, '6.1f')}"
                for m in setting.months
            ),
        ]
    return [
        head,
        _("        air   humidity   EMC of the air, %   board, % MC"),
        _(
            "        {degree}      % RH     hourly published       average",
            degree=degree,
        ),
        *(_detail(one, system) for one in setting.months),
    ]


def _warmth(of: Month, system: UnitSystem) -> float:
    t = of.air_temperature
    return celsius_to_fahrenheit(t) if system == "us" else t


def _detail(of: Month, system: UnitSystem) -> str:
    return (
        f"{short_month(of.month):<5}{number(_warmth(of, system), '6.1f')} "
        f"{of.relative_humidity:8.0f} {number(of.emc, '11.1f')} "
        f"{number(of.published_basis_emc, '8.1f')} {number(of.mean, '13.1f')}"
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
