"""The words and tables of `floor`."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from emcforecast.forecast.floor import Floor, Lowest, Month, SettingFloor
from emcforecast.forecast.quantiles import Range
from emcforecast.forecast.year_round import smooth
from emcforecast.report.words import (
    SHORT_MONTHS,
    listed,
    part_of_month,
    wrapped,
)
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem, celsius_to_fahrenheit, format_length
from emcforecast.weather.series import MONTHS

TWO_WAYS = (
    "Below, EMC is reckoned two ways: hourly, the mean of every hour's; published, "
    "that of the month's mean air, as printed tables do. A board follows neither "
    "exactly: its own column is the one to act on."
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
    answer: Floor, targets: Mapping[str, float], system: UnitSystem
) -> list[str]:
    """Say for each setting what a person can act on.

    Parameters
    ----------
    answer : Floor
        What `floor` found.
    targets : mapping of str to float
        Words, such as "furniture at 8 %", and the moisture content, %.
    system : {"us", "si"}
        Units of the thickness.

    Returns
    -------
    list of str
        One sentence or two a setting.
    """
    board = f"{format_length(answer.board.thickness_mm, system)} {answer.board.species}"
    lines = []
    for name, setting in answer.settings.items():
        lead = _lead(setting, board)
        lines.append(f"{lead}; {_verdict(name, setting, answer, targets)}.")
    return lines


def _lead(setting: SettingFloor, board: str) -> str:
    curve = smooth(setting.day_range[1])
    low = int(np.argmin(curve))
    least = setting.lowest
    span = (
        f" ({least.p10:.1f} to {least.p90:.1f} in eight years of ten)"
        if least.p10 is not None and least.p90 is not None
        else ""
    )
    year = " of a middling year" if least.p10 is not None else ""
    text = (
        f"{_capital(place_words(setting.kind))} {board} gets down to "
        f"{least.p50:.1f} % in {part_of_month(low)}{year}{span}"
    )
    back = _back_above(curve, low)
    rain = (
        " without rain, of which the weather tells nothing,"
        if setting.kind == "stack" and not setting.rained_on
        else ""
    )
    return text.replace(" gets down to", f"{rain} gets down to") + (
        f" and {back}" if back else ""
    )


def _back_above(curve: np.ndarray, low: int) -> str:
    """Say when the wood has regained a point or two after its lowest."""
    level = math.floor(float(curve[low])) + 2
    turned = np.roll(curve, -low)
    above = np.flatnonzero(turned >= level)
    if above.size == 0:
        return f"stays below {level} % all year"
    return f"is back above {level} % by {part_of_month(low + int(above[0]))}"


def _verdict(
    name: str, setting: SettingFloor, answer: Floor, targets: Mapping[str, float]
) -> str:
    said = []
    for use, target in targets.items():
        least = setting.lowest
        sure = least.p90 if least.p90 is not None else least.p50
        lucky = least.p10 if least.p10 is not None else least.p50
        if sure <= target:
            said.append(f"{use} can be reached here {_window(setting, target)}")
        elif lucky <= target:
            said.append(f"{use} is reached only in the drier years")
        else:
            said.append(f"{use} needs {_elsewhere(name, answer, target)}")
    return " and ".join(said) if said else "waiting longer only follows the seasons"


def _window(setting: SettingFloor, target: float) -> str:
    """Name the months in which a middle year touches a target."""
    fit = [m.month - 1 for m in setting.months if m.lowest.p50 <= target]
    if len(fit) == 12:
        return "all year"
    if not fit:
        return f"for a while in {MONTHS[setting.lowest.month - 1]}"
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
        if key != name and (other.lowest.p90 or other.lowest.p50) <= target
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
    parts += ["", *_overview(answer), "", wrapped(TWO_WAYS), ""]
    for setting in answer.settings.values():
        parts += [*_details(setting, system), ""]
    parts += [wrapped(line) for line in rests_on]
    return "\n".join(parts)


def _overview(answer: Floor) -> list[str]:
    many = len(answer.years) > 1
    legend = "driest year in ten | middle year | dampest" if many else "one year only"
    lines = ["Lowest moisture of the month, % of oven-dry mass", f"  {legend}"]
    settings = list(answer.settings.values())
    lines.append("         " + "".join(f"{s.name:<24}" for s in settings).rstrip())
    lines.append(
        "         "
        + "".join(f"{KINDS[s.kind].title[:22]:<24}" for s in settings).rstrip()
    )
    for index, name in enumerate(MONTHS):
        cells = "".join(f"{_range(s.months[index].lowest):<24}" for s in settings)
        lines.append(f"{name:<9}".ljust(10)[:10] + cells.rstrip())
    lines.append(
        "of a year " + "".join(f"{_least(s.lowest):<24}" for s in settings).rstrip()
    )
    lines.append(
        "or        "
        + "".join(
            f"{s.lowest.place.low:4.1f} to {s.lowest.place.high:.1f}".ljust(24)
            for s in settings
        ).rstrip()
    )
    lines.append("          were the place itself not quite as taken, in a middle year")
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
        "        air    RH     EMC, %           board, % MC   lowest, % MC",
        f"        {degree}     %     hourly published  mean          "
        + (
            "driest middle dampest" if setting.lowest.p10 is not None else "of the year"
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
        f"{SHORT_MONTHS[month.month - 1]:<6}{t:6.1f} {month.relative_humidity:5.0f} "
        f"{month.emc:9.1f} {month.published_basis_emc:9.1f} "
        f"{month.mean:6.1f}        {lowest}"
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
