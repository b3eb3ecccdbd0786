"""The page of a map: its picture, what it says of each place, what it rests on."""

from datetime import date
from typing import TYPE_CHECKING

from markupsafe import Markup

from emcforecast.answers.answered import Answered
from emcforecast.language import spoken_language
from emcforecast.pages.look import stylesheet
from emcforecast.pages.pictures import picture
from emcforecast.pages.place import made_words
from emcforecast.pages.rendering import Section, render
from emcforecast.pages.sections import notes_section
from emcforecast.report import map as words
from emcforecast.report.answer import Answer
from emcforecast.units import UnitSystem

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look


def map_page(result: "xr.Dataset", answer: Answer, made_on: date) -> str:
    """Return the whole page of a map, one HTML document that needs nothing else.

    Parameters
    ----------
    result : Dataset
        As `emcforecast map` writes it.
    answer : Answer
        What it says.
    made_on : date
        The day that the foot of the page names.

    Raises
    ------
    InputError
        For a list of cells, of which there is no picture.
    """
    from emcforecast.grid.summary import summarise

    summary = summarise(result)
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
                        "picture": picture(_drawn(result, answer), "map"),
                        "closing": (words.gives(result), words.based_on(result)),
                    },
                ),
                notes_section("notes", answer.warnings, answer.cautions),
            ],
            made=made_words(made_on),
        )
    )


def _drawn(result: "xr.Dataset", answer: Answer) -> dict[UnitSystem, Answered[None]]:
    """Return the picture for both systems of units: moisture is in % in either."""

    def draw(look: "Look", narrow: bool) -> "Figure":
        from emcforecast.charts.map import map_figure, shown_first

        return map_figure(
            result, variable=shown_first(result), look=look, narrow=narrow
        )

    said = Answered(answer, None, draw=draw)
    return {"si": said, "us": said}
