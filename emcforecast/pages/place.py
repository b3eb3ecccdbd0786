"""The page of one place: every board asked for, and what the answers rest on."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from markupsafe import Markup

from emcforecast import __version__
from emcforecast.answers.place import BoardAnswers, PlaceAnswers
from emcforecast.dates import spoken
from emcforecast.language import N_, _, spoken_language
from emcforecast.pages import sections
from emcforecast.pages.look import stylesheet
from emcforecast.pages.rendering import InBoth, Section, render
from emcforecast.report.floor_sentences import title_of
from emcforecast.report.repairs import repair_sentences
from emcforecast.report.weather import based_on, source_name
from emcforecast.report.why import why_words

if TYPE_CHECKING:
    from datetime import date

    import xarray as xr

TITLE = N_("How dry wood gets here, by when, and where next")


@dataclass(frozen=True)
class BoardPart:
    """A board's name in the switch, and its sections."""

    words: InBoth
    sections: tuple[Section, ...]


def place_page(found: PlaceAnswers, made_on: "date") -> str:
    """Return the whole page of a place, one HTML document that needs nothing else.

    Parameters
    ----------
    found : PlaceAnswers
        All that is said.
    made_on : date
        The day that the foot of the page names.
    """
    boards = [
        BoardPart(
            sections.board_words(board.floor.found), board_sections(board, f"b{k}")
        )
        for k, board in enumerate(found.boards, 1)
    ]
    return str(
        render(
            "place",
            language=spoken_language(),
            title=_(TITLE),
            over=source_name(str(found.weather.attrs.get("source", ""))),
            style=Markup(stylesheet(len(boards))),
            system=found.asked.system,
            boards=boards,
            sections=place_sections(found),
            made=made_words(made_on),
        )
    )


def board_sections(board: BoardAnswers, name: str) -> tuple[Section, ...]:
    """Return the parts of a page about one board, in their order.

    Parameters
    ----------
    board : BoardAnswers
        What is said of it.
    name : str
        Begins the ids of the parts.
    """
    place = title_of(board.floor.found, board.moves_in)
    return (
        sections.floor_section(board.floor, f"{name}-floor", [board.use]),
        sections.uses_section(board, f"{name}-uses"),
        sections.dry_section(board.dry, f"{name}-dry"),
        sections.plan_section(board.plan, f"{name}-plan"),
        sections.risks_section(board.dry, f"{name}-risks"),
        sections.movement_section(board.movement, place, f"{name}-movement"),
    )


def place_sections(found: PlaceAnswers) -> tuple[Section, ...]:
    """Return the parts of a page that all its boards share."""
    said = found.answer
    return (
        sections.hindcast_section(found.hindcast, "hindcast"),
        sections.notes_section("notes", said.warnings, said.cautions),
        why_section(found.weather, "why"),
    )


def why_section(weather: "xr.Dataset", name: str) -> Section:
    """Show the weather an answer rests on, the equation, and what was mended."""
    return Section(
        name,
        "why",
        {
            "based_on": based_on(weather),
            "words": why_words(),
            "repairs": repair_sentences(weather),
            "licence": str(weather.attrs.get("licence", "")),
        },
    )


def made_words(made_on: "date") -> str:
    """Say when a page was made, and by what."""
    day, version = spoken(made_on), __version__
    return _(
        "Made on {date} by emcforecast {version}. This page needs no network.",
        date=day,
        version=version,
    )
