"""The sentences of `floor`: one a setting that a person can act on."""

from collections.abc import Sequence

import numpy as np

from emcforecast.dates import MONTHS
from emcforecast.ensemble.calendar import smooth
from emcforecast.forecast.floor_result import Floor, Lowest, SettingFloor
from emcforecast.forecast.targets import Target
from emcforecast.report.words import capital, listed, part_of_month
from emcforecast.storage.kinds import KINDS
from emcforecast.units import UnitSystem

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
    kinds = [setting.kind for setting in answer.settings.values()]
    lines = []
    for name, setting in answer.settings.items():
        lead = _lead(setting, board)
        if kinds.count(setting.kind) > 1:
            lead = f"{name}: {lead}"
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
        ", were it never rained on (the weather tells of no rain),"
        if setting.kind == "stack" and not setting.rained_on
        else ""
    )
    return (
        f"{capital(place_words(setting.kind))} {board}{dry} gets down to "
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
        return _reached(setting, target)
    if lucky > target.high:
        return f"{target.words} needs {_elsewhere(name, answer, target.high)}"
    if not years:
        return (
            f"{target.words} is touch and go here, {lucky:.1f} to {sure:.1f} % as the "
            "place may be: go by a meter"
        )
    if setting.lowest.p50 <= target.high:
        return f"{_reached(setting, target, 'in most years')}, not in the dampest"
    return f"{target.words} is reached only in the drier years"


def _reached(setting: SettingFloor, target: Target, how: str = "") -> str:
    """Say in which months wood lies in the range, and where it gets drier than it."""
    dry = _drier(setting, target)
    if len(dry) == len(MONTHS):
        return (
            f"there it gets drier than {target.words} all year: take it out when a "
            f"meter reads {target.numbers}, unless it is to live in a room as dry"
        )
    fit = [
        i
        for i, month in enumerate(setting.months)
        if month.mean <= target.high and i not in dry
    ]
    when = _months(fit)
    if not fit:
        when = "in passing" if dry else f"for a while about {_lowest(setting)}"
    can = f"is reached here {how}," if how else "can be reached here"
    said = f"{target.words} {can} {when}"
    if not dry:
        return said
    return (
        f"{said}, but it gets drier than that {_months(dry)}: take it out when a meter "
        f"reads {target.numbers}"
    )


def _lowest(setting: SettingFloor) -> str:
    return MONTHS[setting.lowest.month - 1]


def _drier(setting: SettingFloor, target: Target) -> list[int]:
    """Return the months, from 0, in which wood at rest is below the range."""
    if target.low is None:
        return []
    return [i for i, month in enumerate(setting.months) if month.mean < target.low]


def _ends(least: Lowest) -> tuple[float, float, bool]:
    """Return the driest and dampest low, and whether they are those of years."""
    if least.p10 is None or least.p90 is None:
        return least.place.low, least.place.high, False
    return least.p10, least.p90, True


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


def _elsewhere(name: str, answer: Floor, target: float) -> str:
    others = [o for key, o in answer.settings.items() if key != name]
    sure = [KINDS[o.kind].title for o in others if _ends(o.lowest)[1] <= target]
    if sure:
        return f"the {listed(sure, 'or')}"
    perhaps = [KINDS[o.kind].title for o in others if _ends(o.lowest)[0] <= target]
    if perhaps:
        return (
            f"drier air: perhaps the {listed(perhaps, 'or')}, by a meter, else a "
            "dehumidified room or a kiln"
        )
    return "drier air than any of these settings: a dehumidified room or a kiln"
