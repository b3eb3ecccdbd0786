"""An answer made into what is kept of it: the pages' own sections, JSON, CSV, calendar.

Nothing is worded here. A section is rendered once and kept as text; both systems of
units stand in it, and the page shows the one that was chosen.
"""

import re
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from markupsafe import Markup

from emcforecast.answers.answered import Answered
from emcforecast.answers.place import PlaceAnswers
from emcforecast.forecast.targets import target_for_use, target_of_number
from emcforecast.pages import sections
from emcforecast.pages.look import stylesheet as stylesheet_of_pages
from emcforecast.pages.place import place_page, why_section
from emcforecast.pages.rendering import Section
from emcforecast.pages.yard import (
    cautions_in_both,
    overview_section,
    stack_section,
    yard_page,
)
from emcforecast.report.document import csv_text, document, to_json
from emcforecast.report.yard_json import entries_of
from emcforecast.units import UnitSystem
from emcforecast.web.store import Kept
from emcforecast.yard.calendar import calendar_text

_STYLE = re.compile(r' style="([^"]*)"')
_DECLARED = re.compile(r"\s*([a-z-]+)\s*:\s*([^;]+?)\s*(?:;|$)")


def kept_of(answered: Answered[Any]) -> Kept:
    """Return an answer as a page, JSON and CSV show it.

    Parameters
    ----------
    answered : Answered
        Of floor, dry, plan or yard.
    """
    said = answered.answer
    parts = PARTS[said.command](answered)
    html = Markup("\n").join(part.html() for part in parts)
    return Kept(
        title=str(answered.sentences[0]) if answered.sentences else said.command,
        html=without_styles(str(html)),
        json=to_json(document(answered.answer)),
        csv=csv_text(said.rows),
        calendar=calendar_of(answered) if said.command == "yard" else "",
    )


def yard_report_of(answered: Answered[Any]) -> Kept:
    """Return the one page of a yard, to keep and print, as a file."""
    said = answered.answer
    system: UnitSystem = "us" if said.inputs["units"] == "us" else "si"
    page = yard_page(answered, system)
    return Kept(
        said.command, page, to_json(document(answered.answer)), csv_text(said.rows)
    )


def place_report_of(found: PlaceAnswers) -> Kept:
    """Return the one page of a place, to keep and print, as a file."""
    said = found.answer
    return Kept(
        said.command, place_page(found, date.today()), to_json(document(said)), ""
    )


def calendar_of(answered: Answered[Any]) -> str:
    """Return a yard's steps as a calendar."""
    state = answered.found
    now = datetime.now().astimezone()
    return calendar_text(entries_of(state), state.yard.name, now)


def stylesheet() -> str:
    """Return the stylesheet of the answers, as the printed page has it."""
    return stylesheet_of_pages() + "figure svg{stroke-linejoin:round}\n"


def without_styles(html: str) -> str:
    """Write styles of pictures as attributes: the page allows no style in its text.

    Examples
    --------
    >>> without_styles('<path style="fill: none; stroke: var(--ink)"/>')
    '<path fill="none" stroke="var(--ink)"/>'
    """

    def attributes(found: re.Match[str]) -> str:
        declared = dict(_DECLARED.findall(found[1]))
        return "".join(f' {name}="{value}"' for name, value in declared.items())

    return _STYLE.sub(attributes, html)


def _floor(answered: Answered[Any]) -> Sequence[Section]:
    numbers = answered.answer.inputs.get("targets") or ()
    targets = [target_of_number(value) for value in dict.fromkeys(numbers)]
    shown = targets or [target_for_use("furniture")]
    return (sections.floor_section(answered, "floor", shown), *_closing(answered))


def _dry(answered: Answered[Any]) -> Sequence[Section]:
    return (
        sections.dry_section(answered, "dry"),
        sections.risks_section(answered, "risks"),
        *_closing(answered),
    )


def _plan(answered: Answered[Any]) -> Sequence[Section]:
    return (sections.plan_section(answered, "plan"), *_closing(answered))


def _yard(answered: Answered[Any]) -> Sequence[Section]:
    return (
        overview_section(answered, "overview"),
        *(
            stack_section(one, answered, f"stack-{k}")
            for k, one in enumerate(answered.found.stacks, 1)
        ),
        *_closing(answered, cautions_in_both(answered)),
    )


def _closing(
    answered: Answered[Any], cautions: Sequence[Any] | None = None
) -> Sequence[Section]:
    said = answered.answer
    told = said.cautions if cautions is None else cautions
    notes = sections.notes_section("notes", said.warnings, told)
    if said.weather is None:
        return (notes,)
    return (notes, why_section(said.weather, "why"))


PARTS = {"floor": _floor, "dry": _dry, "plan": _plan, "yard": _yard}
"""The parts of each answer's page, in their order."""
