"""The sentences of `floor`: what a person can do in each place."""

from collections.abc import Sequence

import numpy as np

from emcforecast.dates import MONTHS
from emcforecast.ensemble.calendar import smooth
from emcforecast.ensemble.percentiles import YearRange
from emcforecast.forecast.floor_result import Floor, Lowest, SettingFloor
from emcforecast.forecast.targets import Target
from emcforecast.report.words import ENOUGH_YEARS, capital, listed, part_of_month
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem

OPEN_PLACES = {
    "stack": "in the open, uncovered,",
    "stack-roof": "in the open under its own roof",
    "shed": "under the open-sided shed",
}
"""Where boards are, for kinds that are not rooms."""


def place_words(kind: str) -> str:
    """Name where the boards are: "under the open-sided shed"."""
    return OPEN_PLACES.get(kind, f"in the {KINDS[kind].title}")


def floor_sentences(
    answer: Floor, targets: Sequence[Target], system: UnitSystem
) -> list[str]:
    """Say for each place what a person can act on.

    Parameters
    ----------
    answer : Floor
        What `floor` found.
    targets : sequence of Target
        Moisture contents to judge the places by.
    system : {"us", "si"}
        Units of the thickness.

    Returns
    -------
    list of str
        One sentence or two a place.
    """
    board = board_words(answer, system)
    many = len(answer.years)
    lines = []
    for name, setting in answer.settings.items():
        said = [
            f"{t.words} {_judged(setting, t, many) or _needs(name, answer, t)}"
            for t in targets
        ]
        lead = f"{_lead(setting, board, many)}."
        lead += f" {capital('; '.join(said))}." if said else ""
        named = title_of(answer, name) == name
        lines.append(f"{name}: {lead}" if named else lead)
    return lines


def board_words(answer: Floor, system: UnitSystem) -> str:
    """Name the board: "27 mm (4/4) white oak"."""
    return f"{answer.board.size.label(system)} {answer.board.species}"


def title_of(answer: Floor, name: str) -> str:
    """Name a place by its kind, or where several of one are compared as it was said."""
    kinds = [setting.kind for setting in answer.settings.values()]
    kind = answer.settings[name].kind
    return KINDS[kind].title if kinds.count(kind) == 1 else name


def _place(answer: Floor, name: str) -> str:
    """Say where boards are: "in the heated house"."""
    title = title_of(answer, name)
    return f"in {title}" if title == name else place_words(answer.settings[name].kind)


def target_sentence(answer: Floor, target: Target) -> str:
    """Say in which places a target can be reached, and when; else what it needs.

    Parameters
    ----------
    answer : Floor
        What `floor` found.
    target : Target
        A moisture content to judge the places by.

    Returns
    -------
    str
        A sentence for each place that reaches it, or one for all.
    """
    found = {
        name: words
        for name, setting in answer.settings.items()
        if (words := _judged(setting, target, len(answer.years)))
    }
    lead = capital(target.words)
    if not found:
        return f"{lead} {_needs('', answer, target)}."
    only = "only " if len(found) == 1 and len(answer.settings) > 1 else ""
    return " ".join(
        f"{lead}, {only}{_place(answer, name)}: {words}."
        for name, words in found.items()
    )


def use_words(answer: Floor, name: str, target: Target) -> str:
    """Say whether and when a place brings wood to a target: yes, until when, no."""
    return _judged(answer.settings[name], target, len(answer.years)) or "no"


def when_lowest(setting: SettingFloor) -> str:
    """Name the days of the year's lowest: "mid May"."""
    return part_of_month(int(np.argmin(smooth(setting.day_range[1]))))


def ends_of_years(least: Lowest | YearRange, years: int) -> tuple[float, float] | None:
    """Return the range over years that may be said; None from a single year.

    Parameters
    ----------
    least : Lowest or YearRange
        % of oven-dry mass.
    years : int
        Weather years; from fewer than eight, the lowest and highest seen.
    """
    low, high = least.p10, least.p90
    if years < ENOUGH_YEARS:
        low, high = least.least, least.most
    return None if low is None or high is None else (low, high)


def _lead(setting: SettingFloor, board: str, years: int) -> str:
    least = setting.lowest
    low, ends = when_lowest(setting), ends_of_years(least, years)
    if ends is None:
        when = f"in {low}"
    else:
        of = "8 years in 10" if years >= ENOUGH_YEARS else f"the {years} years seen"
        when = f"in {low} of a middle year ({of}: {ends[0]:.1f} to {ends[1]:.1f})"
    dry = (
        ", if no rain falls on it (the weather has no rain),"
        if setting.kind == "stack" and not setting.rained_on
        else ""
    )
    level, back = back_above(setting)
    after = (
        f"stays below {level} % on average all year"
        if back is None
        else f"is back above {level} % on average by {MONTHS[back - 1]}"
    )
    return (
        f"{capital(place_words(setting.kind))} {board}{dry} gets down to "
        f"{least.p50:.1f} % {when} and {after}"
    )


def back_above(setting: SettingFloor) -> tuple[int, int | None]:
    """Return a level, % MC, and the month after the lowest that averages above it.

    The level is a point or so above the month of the lowest; the month is None where
    the wood stays below it all year.
    """
    first = setting.lowest.month
    level = round(setting.months[first - 1].mean) + 1
    later = [setting.months[(first + k) % 12] for k in range(11)]
    back = next((m for m in later if m.mean > level), None)
    return level, None if back is None else back.month


def _judged(setting: SettingFloor, target: Target, years: int) -> str:
    """Say how a place reaches a target, "" where it does not."""
    low, high, of_years = _ends(setting.lowest, years)
    if high <= target.high:
        return _reached(setting, target)
    if low > target.high:
        return ""
    if not of_years:
        return (
            f"uncertain, {low:.1f} to {high:.1f} % if your place differs from what is "
            "assumed: go by a meter"
        )
    if setting.lowest.p50 <= target.high:
        return f"{_reached(setting, target, 'in most years ')}, not in the dampest"
    return "reached only in the drier years"


def _reached(setting: SettingFloor, target: Target, how: str = "") -> str:
    """Say in which months wood is in the range, and where it gets drier than it."""
    dry = _drier(setting, target)
    if len(dry) == len(MONTHS):
        return (
            "drier than that all year; take it out when a meter reads "
            f"{target.numbers}, unless it will live in a room as dry"
        )
    fit = [
        i
        for i, month in enumerate(setting.months)
        if month.mean <= target.high and i not in dry
    ]
    when = _months(fit)
    if not fit:
        when = "in passing" if dry else f"for a while in {_lowest(setting)}"
    said = f"can be reached {how}{when}"
    if not dry:
        return said
    return (
        f"{said}; it gets drier than that {_months(dry)}, so take it out when a meter "
        f"reads {target.numbers}"
    )


def _lowest(setting: SettingFloor) -> str:
    return MONTHS[setting.lowest.month - 1]


def _drier(setting: SettingFloor, target: Target) -> list[int]:
    """Return the months, from 0, in which settled wood is below the range."""
    if target.low is None:
        return []
    return [i for i, month in enumerate(setting.months) if month.mean < target.low]


def _ends(least: Lowest, years: int) -> tuple[float, float, bool]:
    """Return the driest and dampest low, and whether they are those of years."""
    ends = ends_of_years(least, years)
    if ends is None:
        return least.place.low, least.place.high, False
    return *ends, True


def _months(fit: Sequence[int]) -> str:
    """Name months, from 0: "from November to March and in June"."""
    if len(fit) == len(MONTHS):
        return "all year"
    runs = []
    for start in (i for i in fit if (i - 1) % 12 not in fit):
        length = next(k for k in range(1, 12) if (start + k) % 12 not in fit)
        last = MONTHS[(start + length - 1) % 12]
        runs.append(f"in {last}" if length == 1 else f"from {MONTHS[start]} to {last}")
    return listed(runs)


def _needs(name: str, answer: Floor, target: Target) -> str:
    """Say which other place a target needs."""
    years, high = len(answer.years), target.high
    ends = [
        (title_of(answer, key), _ends(other.lowest, years))
        for key, other in answer.settings.items()
        if key != name
    ]
    sure = [title for title, (_, most, _) in ends if most <= high]
    if sure:
        return f"needs the {listed(sure, 'or')}"
    perhaps = [title for title, (least, _, _) in ends if least <= high]
    if perhaps:
        return (
            f"needs drier air: perhaps the {listed(perhaps, 'or')}, by a meter, else a "
            "dehumidified room or a kiln"
        )
    return "needs drier air than any of these places: a dehumidified room or a kiln"
