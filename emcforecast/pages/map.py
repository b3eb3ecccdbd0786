"""The page of a map: its picture, what it says of each place, what it rests on."""

from datetime import date
from typing import TYPE_CHECKING

from markupsafe import Markup

from emcforecast.answers.answered import Answered
from emcforecast.grid.summary import MapSummary
from emcforecast.language import spoken_language
from emcforecast.pages.look import stylesheet
from emcforecast.pages.pictures import picture
from emcforecast.pages.place import made_words
from emcforecast.pages.rendering import Section, render
from emcforecast.pages.sections import in_both, notes_section
from emcforecast.report import map as words

if TYPE_CHECKING:
    import xarray as xr


def map_page(
    result: "xr.Dataset", answered: Answered[MapSummary], made_on: date
) -> str:
    """Return the whole page of a map, one HTML document that needs nothing else.

    Parameters
    ----------
    result : Dataset
        As `emcforecast map` writes it.
    answered : Answered
        What it says.
    made_on : date
        The day that the foot of the page names.

    Raises
    ------
    InputError
        For a list of cells, of which there is no picture.
    """
    summary, answer = answered.found, answered.answer
    return str(
        render(
            "map",
            language=spoken_language(),
            title=words.map_title(result, summary),
            over=str(result.attrs.get("source", "")),
            style=Markup(stylesheet()),
            system="",
            sections=[
                Section(
                    "cells",
                    "cells",
                    {
                        "heads": words.map_heads(summary),
                        "rows": words.map_lines(summary),
                        "sentences": words.map_sentences(summary),
                        "picture": picture(in_both(answered), "map"),
                        "closing": (words.gives(result), words.based_on(result)),
                    },
                ),
                notes_section("notes", answer.warnings, answer.cautions),
            ],
            made=made_words(made_on),
        )
    )
