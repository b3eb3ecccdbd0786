"""The sentences of `floor`: what a person can do in each place."""

from collections.abc import Sequence

import numpy as np

from emcforecast.dates import MONTHS, month
from emcforecast.ensemble.calendar import smooth
from emcforecast.ensemble.percentiles import YearRange
from emcforecast.forecast.floor_result import Floor, Lowest, SettingFloor
from emcforecast.forecast.targets import Target
from emcforecast.language import N_, _, p_
from emcforecast.report.boards import board_words
from emcforecast.report.names import (
    own_place,
    place_title,
    target_numbers,
    target_words,
)
from emcforecast.report.words import ENOUGH_YEARS, capital, listed, part_of_month
from emcforecast.units import UnitSystem

OPEN_PLACES = {
    "stack": N_("in the open, uncovered,"),
    "stack-roof": N_("in the open under its own roof"),
    "shed": N_("under the open-sided shed"),
}
"""Where boards are, for kinds that are not rooms."""


def place_words(kind: str) -> str:
    """Name where the boards are: "under the open-sided shed"."""
    if kind in OPEN_PLACES:
        return _(OPEN_PLACES[kind])
    return _("in the {place}", place=place_title(kind, "in the place"))


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
    board = board_words(answer.board, system)
    many = len(answer.years)
    lines = []
    for name, setting in answer.settings.items():
        said = [
            _("{use} {judged}", use=target_words(t), judged=judged)
            for t in targets
            for judged in (_judged(setting, t, many) or _needs(name, answer, t),)
        ]
        lead = f"{_lead(setting, board, many)}."
        lead += f" {capital('; '.join(said))}." if said else ""
        named = title_of(answer, name) == name
        lines.append(f"{name}: {lead}" if named else lead)
    return lines


def title_of(answer: Floor, name: str) -> str:
    """Name a place by its kind, or where several of one are compared as it was said."""
    kinds = [setting.kind for setting in answer.settings.values()]
    kind = answer.settings[name].kind
    return place_title(kind) if kinds.count(kind) == 1 else name


def _place(answer: Floor, name: str) -> str:
    """Say where boards are: "in the heated house"."""
    if title_of(answer, name) == name:
        return _("in {place}", place=own_place(name, "in the place"))
    return place_words(answer.settings[name].kind)


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
    lead = capital(target_words(target))
    if not found:
        return _("{use} {judged}.", use=lead, judged=_needs("", answer, target))
    said = (
        N_("{use}, only {place}: {judged}.")
        if len(found) == 1 and len(answer.settings) > 1
        else N_("{use}, {place}: {judged}.")
    )
    return " ".join(
        _(said, use=lead, place=_place(answer, name), judged=words)
        for name, words in found.items()
    )


def use_words(answer: Floor, name: str, target: Target) -> str:
    """Say whether and when a place brings wood to a target: yes, until when, no."""
    words = _judged(answer.settings[name], target, len(answer.years))
    return words or not_reached()


def not_reached() -> str:
    """Say that a place does not bring wood to a target."""
    return p_("use in a place", "no")


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
        when = _("in {part_of_month}", part_of_month=low)
    else:
        when = _(
            N_(
                "in {part_of_month} of a middle year "
                "(8 years in 10: {low:.1f} to {high:.1f})"
            )
            if years >= ENOUGH_YEARS
            else N_(
                "in {part_of_month} of a middle year "
                "(the {years} years seen: {low:.1f} to {high:.1f})"
            ),
            part_of_month=low,
            years=years,
            low=ends[0],
            high=ends[1],
        )
    dry = setting.kind == "stack" and not setting.rained_on
    level, back = back_above(setting)
    after = (
        _("stays below {level} % on average all year", level=level)
        if back is None
        else _(
            "is back above {level} % on average by {month}",
            level=level,
            month=month(back),
        )
    )
    said = (
        N_(
            "{place} {board}, if no rain falls on it (the weather has no rain), gets "
            "down to {mc:.1f} % {when} and {after}"
        )
        if dry
        else N_("{place} {board} gets down to {mc:.1f} % {when} and {after}")
    )
    return _(
        said,
        place=capital(place_words(setting.kind)),
        board=board,
        mc=least.p50,
        when=when,
        after=after,
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
        return _(
            "uncertain, {low:.1f} to {high:.1f} % if your place differs from what is "
            "assumed: go by a meter",
            low=low,
            high=high,
        )
    if setting.lowest.p50 <= target.high:
        return _(
            "{reached}, not in the dampest",
            reached=_reached(setting, target, in_most_years=True),
        )
    return _("reached only in the drier years")


def _reached(
    setting: SettingFloor, target: Target, *, in_most_years: bool = False
) -> str:
    """Say in which months wood is in the range, and where it gets drier than it."""
    dry = _drier(setting, target)
    if len(dry) == len(MONTHS):
        return _(
            "drier than that all year; take it out when a meter reads {moisture}, "
            "unless it will live in a room as dry",
            moisture=target_numbers(target),
        )
    fit = [
        i
        for i, of in enumerate(setting.months)
        if of.mean <= target.high and i not in dry
    ]
    when = _months(fit)
    if not fit:
        when = (
            _("in passing")
            if dry
            else _("for a while in {month}", month=month(setting.lowest.month))
        )
    said = _(
        N_("can be reached in most years {when}")
        if in_most_years
        else N_("can be reached {when}"),
        when=when,
    )
    if not dry:
        return said
    return _(
        "{reached}; it gets drier than that {when}, so take it out when a meter reads "
        "{moisture}",
        reached=said,
        when=_months(dry),
        moisture=target_numbers(target),
    )


def _drier(setting: SettingFloor, target: Target) -> list[int]:
    """Return the months, from 0, in which settled wood is below the range."""
    if target.low is None:
        return []
    return [i for i, of in enumerate(setting.months) if of.mean < target.low]


def _ends(least: Lowest, years: int) -> tuple[float, float, bool]:
    """Return the driest and dampest low, and whether they are those of years."""
    ends = ends_of_years(least, years)
    if ends is None:
        return least.place.low, least.place.high, False
    return *ends, True


def _months(fit: Sequence[int]) -> str:
    """Name months, from 0: "from November to March and in June"."""
    if len(fit) == len(MONTHS):
        return _("all year")
    runs = []
    for start in (i for i in fit if (i - 1) % 12 not in fit):
        length = next(k for k in range(1, 12) if (start + k) % 12 not in fit)
        last = month((start + length - 1) % 12 + 1)
        runs.append(
            _("in {month}", month=last)
            if length == 1
            else _("from {first} to {last}", first=month(start + 1), last=last)
        )
    return listed(runs)


def _needs(name: str, answer: Floor, target: Target) -> str:
    """Say which other place a target needs."""
    years, high = len(answer.years), target.high
    ends = [
        (_the_place(answer, key), _ends(other.lowest, years))
        for key, other in answer.settings.items()
        if key != name
    ]
    sure = [title for title, (_, most, _) in ends if most <= high]
    if sure:
        return _("needs the {places}", places=listed(sure, "or"))
    perhaps = [title for title, (least, _, _) in ends if least <= high]
    if perhaps:
        return _(
            "needs drier air: perhaps the {places}, by a meter, else a dehumidified "
            "room or a kiln",
            places=listed(perhaps, "or"),
        )
    return _("needs drier air than any of these places: a dehumidified room or a kiln")


def _the_place(answer: Floor, name: str) -> str:
    if title_of(answer, name) == name:
        return own_place(name, "the place")
    return place_title(answer.settings[name].kind, "the place")
