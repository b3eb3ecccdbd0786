"""Answers -> the parts of a page: what each shows, said in both systems of units.

Every function takes answers and the part's name (its id on the page) and returns a
`Section`; what is said comes from the answers' own sentences, lines and results.
"""

from collections.abc import Sequence
from typing import Any

from emcforecast.answers.answered import Answered
from emcforecast.answers.place import BoardAnswers
from emcforecast.dates import MONTHS, month
from emcforecast.forecast.dry_result import Dry
from emcforecast.forecast.floor_result import Floor
from emcforecast.forecast.hindcast_scores import Hindcast
from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.targets import Target
from emcforecast.language import _, number
from emcforecast.pages.pictures import picture
from emcforecast.pages.rendering import InBoth, Section
from emcforecast.report import tables
from emcforecast.report.boards import board_words as board_name
from emcforecast.report.dry import SPOIL, danger_lines
from emcforecast.report.floor import EMC_WORDS, YEARS_LOW, floor_closing, months_head
from emcforecast.report.floor_sentences import (
    not_reached,
    target_sentence,
    title_of,
)
from emcforecast.report.hindcast import TESTED, hindcast_documented
from emcforecast.report.movement import GRAIN_WORDS, change_words
from emcforecast.report.names import target_words
from emcforecast.report.words import capital
from emcforecast.units import SYSTEMS, UnitSystem, celsius_to_fahrenheit
from emcforecast.wood.board_moves import BoardMoves

Said = dict[UnitSystem, Answered[Any]]


def in_both(answered: Answered[Any]) -> Said:
    """Return an answer said in both systems of units."""
    return {system: answered.in_units(system) for system in SYSTEMS}


def sentences(said: Said) -> list[InBoth]:
    """Return an answer's sentences, each in both systems of units."""
    pairs = zip(said["si"].sentences, said["us"].sentences, strict=True)
    return [InBoth(si, us) for si, us in pairs]


def floor_section(
    answered: Answered[Floor], name: str, targets: Sequence[Target]
) -> Section:
    """Show how dry wood gets in each place: a line a place, the uses, the picture."""
    found, said = answered.found, in_both(answered)
    return Section(
        name,
        "floor",
        {
            "board": board_words(found),
            "lines": tables.place_lines(found),
            "over_years": tables.over_years(found),
            "targets": [target_sentence(found, target) for target in targets],
            "closing": floor_closing(found),
            "sentences": sentences(said),
            "picture": picture(said, name),
            "months": months_context(found),
        },
    )


def board_words(found: Floor) -> InBoth:
    """Name the board: "27 mm European larch"."""
    si, us = (capital(board_name(found.board, system)) for system in SYSTEMS)
    return InBoth(si, us)


def months_context(found: Floor) -> dict[str, Any]:
    """Say the lowest, the air and the EMC of every month and place."""
    places = list(found.settings.values())
    names = [capital(title_of(found, name)) for name in found.settings]
    rows = [
        (
            month(k + 1),
            [tables.month_cells(place.months[k].lowest, found) for place in places],
        )
        for k in range(len(MONTHS))
    ]
    airs = [
        (
            name,
            [
                {
                    "month": month(m.month),
                    "warmth": InBoth(
                        f"{number(m.air_temperature, '.1f')} °C",
                        f"{number(celsius_to_fahrenheit(m.air_temperature), '.1f')} °F",
                    ),
                    "humidity": f"{m.relative_humidity:.0f}",
                    "emc": number(m.emc, ".1f"),
                    "published": number(m.published_basis_emc, ".1f"),
                    "board": number(m.mean, ".1f"),
                }
                for m in place.months
            ],
        )
        for name, place in zip(names, places, strict=True)
    ]
    return {
        "names": names,
        "rows": rows,
        "head": months_head(found),
        "low_words": _(YEARS_LOW) if len(found.years) > 1 else "",
        "emc_words": _(EMC_WORDS),
        "airs": airs,
    }


def uses_section(board: BoardAnswers, name: str) -> Section:
    """Show which use air drying can reach in which place, and when."""
    found = board.floor.found
    names = [capital(title_of(found, place)) for place in found.settings]
    rows = [
        (target_words(target), [capital(words[place]) for place in found.settings])
        for target, words in board.uses
    ]
    return Section(
        name, "uses", {"names": names, "rows": rows, "no": capital(not_reached())}
    )


def dry_section(answered: Answered[Dry], name: str) -> Section:
    """Show when a stack is how dry: the dates, the words, the picture."""
    said = in_both(answered)
    return Section(
        name,
        "dry",
        {
            "lines": tables.step_lines(answered.found),
            "sentences": sentences(said),
            "picture": picture(said, name),
        },
    )


def risks_section(answered: Answered[Dry], name: str) -> Section:
    """Show what could spoil a stack, when, and what to do."""
    return Section(
        name,
        "risks",
        {
            "lead": _(SPOIL),
            "lines": danger_lines(answered.found),
        },
    )


def plan_section(answered: Answered[Plan], name: str) -> Section:
    """Show the route, when to bring in, and the chance against the date of moving."""
    found, said = answered.found, in_both(answered)
    return Section(
        name,
        "plan",
        {
            "sentences": sentences(said),
            "head": tables.route_head(found),
            "stays": tables.stay_lines(found),
            "alone": tables.alone_lines(found),
            "curve": tables.curve_lines(found),
            "mind": answered.answer.result["risks"],
            "picture": picture(said, name),
        },
    )


def movement_section(
    answered: Answered[BoardMoves] | None, place: str, name: str
) -> Section:
    """Show how a board moves between the driest and dampest month of a place."""
    if answered is None:
        return Section(name, "movement", {"place": place, "sentences": [], "rows": []})
    rows = [
        (
            _(GRAIN_WORDS[way.grain]),
            InBoth(*(change_words(way.change_mm, s, signed=True) for s in SYSTEMS)),
        )
        for way in answered.found.ways
    ]
    said = sentences(in_both(answered))
    return Section(name, "movement", {"place": place, "sentences": said, "rows": rows})


def hindcast_section(answered: Answered[Hindcast] | None, name: str) -> Section:
    """Show how good such forecasts were: here if it was tried, else where it was."""
    if answered is None:
        return Section(name, "hindcast", {"here": [], "known": hindcast_documented()})
    return Section(
        name,
        "hindcast",
        {"here": [*answered.sentences, _(TESTED)], "known": []},
    )


def notes_section(
    name: str, warnings: Sequence[str], cautions: Sequence[str | InBoth]
) -> Section:
    """Show what weakens the answer, and what could hurt someone."""
    return Section(name, "notes", {"warnings": warnings, "cautions": cautions})
