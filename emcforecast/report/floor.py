"""The words and tables of `floor`."""

import textwrap
from collections.abc import Sequence
from itertools import zip_longest
from typing import Any

import numpy as np

from emcforecast.forecast.floor import Floor, Lowest, Month, SettingFloor
from emcforecast.forecast.quantiles import Range
from emcforecast.forecast.targets import Target
from emcforecast.forecast.year_round import smooth
from emcforecast.report.words import (
    SHORT_MONTHS,
    listed,
    part_of_month,
    wrapped,
)
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem, celsius_to_fahrenheit
from emcforecast.weather.series import MONTHS

TWO_WAYS = (
    "Go by the board's own columns. EMC is what the air alone would bring a thin "
    "shaving to: hourly is the mean of every hour's, published that of the month's "
    "mean air, as printed tables reckon. Boards lag behind both; over a year those "
    "kept from rain lie nearer the published EMC"
)
COLUMN = 24
"""Letters a setting's column takes."""
RAINED_ON = ", rained-on ones above either"
YEARS_LOW = (
    "The year's low lies below the months' because it falls in another month in some "
    "years."
)
IN_BRACKETS = (
    "In brackets: the same, were the place a little unlike what is taken; "
    "`emcforecast settings` tells what that is."
)
OPEN_PLACES = {
    "stack": "in the open, uncovered,",
    "stack-roof": "in the open under its own roof",
    "shed": "under the open-sided shed",
}
"""Where boards lie, for kinds that are not rooms."""


def place_words(kind: str) -> str:
    """Name where the boards lie: "under the open-sided shed"."""
    return OPEN_PLACES.get(kind, f"in the {KINDS[kind].title}")


def floor_sentences(
    answer: Floor, targets: Sequence[Target], system: UnitSystem
) -> list[str]:
    """Say for each setting what a person can act on.

    Parameters
    ----------
    answer : Floor
        What `floor` found.
    targets : sequence of Target
        Moisture contents to judge the settings by.
    system : {"us", "si"}
        Units of the thickness.

    Returns
    -------
    list of str
        One sentence or two a setting.
    """
    board = f"{answer.board.size.label(system)} {answer.board.species}"
    lines = []
    for name, setting in answer.settings.items():
        lead = _lead(setting, board)
        lines.append(f"{lead}; {_verdict(name, setting, answer, targets)}.")
    return lines


def _lead(setting: SettingFloor, board: str) -> str:
    least = setting.lowest
    low = part_of_month(int(np.argmin(smooth(setting.day_range[1]))))
    when = (
        f"in a middling year ({least.p10:.1f} to {least.p90:.1f} in eight of ten), "
        f"usually in {low},"
        if least.p10 is not None and least.p90 is not None
        else f"in {low}"
    )
    dry = (
        ", reckoned dry as the weather tells of no rain,"
        if setting.kind == "stack" and not setting.rained_on
        else ""
    )
    return (
        f"{_capital(place_words(setting.kind))} {board}{dry} gets down to "
        f"{least.p50:.1f} % {when} and {_back_above(setting)}"
    )


def _back_above(setting: SettingFloor) -> str:
    """Say in which month the wood has regained a point or two after its lowest."""
    first = setting.lowest.month
    level = round(setting.months[first - 1].mean) + 1
    later = [setting.months[(first + k) % 12] for k in range(11)]
    back = next((m for m in later if m.mean > level), None)
    if back is None:
        return f"stays below {level} % on average all year"
    return f"is back above {level} % on average by {MONTHS[back.month - 1]}"


def _verdict(
    name: str, setting: SettingFloor, answer: Floor, targets: Sequence[Target]
) -> str:
    said = [_judged(name, setting, answer, target) for target in targets]
    return " and ".join(said) if said else "waiting longer only follows the seasons"


def _judged(name: str, setting: SettingFloor, answer: Floor, target: Target) -> str:
    lucky, sure, years = _ends(setting.lowest)
    if sure <= target.high:
        return f"{target.words} can be reached here {_window(setting, target.high)}"
    if lucky > target.high:
        return f"{target.words} needs {_elsewhere(name, answer, target.high)}"
    if not years:
        return (
            f"{target.words} is touch and go here, {lucky:.1f} to {sure:.1f} % as the "
            "place may be: go by a meter"
        )
    if setting.lowest.p50 <= target.high:
        return (
            f"{target.words} is reached here in most years, "
            f"{_window(setting, target.high)}, not in the dampest"
        )
    return f"{target.words} is reached only in the drier years"


def _ends(least: Lowest) -> tuple[float, float, bool]:
    """Return the driest and dampest low, and whether they are those of years."""
    if least.p10 is None or least.p90 is None:
        return least.place.low, least.place.high, False
    return least.p10, least.p90, True


def _window(setting: SettingFloor, target: float) -> str:
    """Name the months in which a middle year touches a target."""
    fit = [m.month - 1 for m in setting.months if m.lowest.p50 <= target]
    if len(fit) == 12:
        return "all year"
    if not fit:
        return f"for a while about {MONTHS[setting.lowest.month - 1]}"
    start = next((i for i in fit if (i - 1) % 12 not in fit), fit[0])
    end = next((i for i in _after(fit, start) if (i + 1) % 12 not in fit), start)
    return (
        f"in {MONTHS[start]}"
        if start == end
        else f"from {MONTHS[start]} to {MONTHS[end]}"
    )


def _after(fit: Sequence[int], start: int) -> list[int]:
    return [i % 12 for i in range(start, start + 12) if i % 12 in fit]


def _elsewhere(name: str, answer: Floor, target: float) -> str:
    others = [
        KINDS[other.kind].title
        for key, other in answer.settings.items()
        if key != name and _ends(other.lowest)[1] <= target
    ]
    if others:
        return f"the {listed(others, 'or')}"
    return "drier air than any of these settings: a dehumidified room or a kiln"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def floor_text(
    answer: Floor,
    sentences: Sequence[str],
    rests_on: Sequence[str],
    system: UnitSystem,
) -> str:
    """Lay out the whole answer for a person: sentences, tables, what it rests on."""
    parts = [wrapped(line) for line in sentences]
    wet = RAINED_ON if any(s.rained_on for s in answer.settings.values()) else ""
    parts += ["", *_overview(answer), "", wrapped(f"{TWO_WAYS}{wet}."), ""]
    for setting in answer.settings.values():
        parts += [*_details(setting, system), ""]
    parts += [wrapped(line) for line in rests_on]
    return "\n".join(parts)


def _overview(answer: Floor) -> list[str]:
    many = len(answer.years) > 1
    lines = ["Lowest moisture of each month, % of oven-dry mass"]
    lines.append(
        "  driest year in ten | middle year | dampest in ten"
        if many
        else "  one year of weather: no range over years"
    )
    settings = list(answer.settings.values())
    lines.append(" " * 11 + "".join(f"{s.name:<24}" for s in settings).rstrip())
    titles = [textwrap.wrap(KINDS[s.kind].title, COLUMN - 2) for s in settings]
    for words in zip_longest(*titles, fillvalue=""):
        cells = "".join(f"{word:<{COLUMN}}" for word in words)
        lines.append(f"{' ' * 11}{cells.rstrip()}")
    for index, name in enumerate(MONTHS):
        cells = "".join(f"{_range(s.months[index].lowest):<24}" for s in settings)
        lines.append(f"{name:<10}{cells.rstrip()}")
    lines.append(
        "year low  " + "".join(f"{_least(s.lowest):<24}" for s in settings).rstrip()
    )
    lines.append(
        " " * 9
        + "".join(
            f"({s.lowest.place.low:.1f} to {s.lowest.place.high:.1f})".ljust(24)
            for s in settings
        ).rstrip()
    )
    lines += wrapped(f"{YEARS_LOW} {IN_BRACKETS}" if many else IN_BRACKETS).splitlines()
    return lines


def _range(value: Range) -> str:
    if value.p10 is None or value.p90 is None:
        return f"{value.p50:4.1f}"
    return f"{value.p10:4.1f} | {value.p50:4.1f} | {value.p90:4.1f}"


def _least(value: Lowest) -> str:
    return f"{value.p50:4.1f} usually {MONTHS[value.month - 1]}"


def _details(setting: SettingFloor, system: UnitSystem) -> list[str]:
    degree = "°F" if system == "us" else "°C"
    head = f"{_capital(setting.name)}: {KINDS[setting.kind].title}"
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
        "board": {
            "species": answer.board.species,
            "thickness_mm": answer.board.thickness_mm,
        },
        "settings": {
            name: {
                "kind": setting.kind,
                "months": setting.months,
                "lowest": setting.lowest,
                "rain_counted": setting.rained_on,
                "sentence": line,
                "fallbacks": setting.fallbacks,
            }
            for (name, setting), line in zip(
                answer.settings.items(), sentences, strict=True
            )
        },
    }
