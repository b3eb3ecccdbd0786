"""A map's answer: the same from the command that works it out and from its file."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from emcforecast.answers.answered import Answered
from emcforecast.grid.summary import MapSummary, summarise
from emcforecast.report import map as words
from emcforecast.report.answer import Answer

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look


def map_answered(
    result: "xr.Dataset",
    inputs: Mapping[str, Any],
    *,
    output: str | None = None,
    yards: bool = False,
    notes: Sequence[str] = (),
) -> Answered[MapSummary]:
    """Say what a map holds; its moisture is in % in any units.

    Parameters
    ----------
    result : Dataset
        As `emcforecast.grid.work.work_through` returns or writes it.
    inputs : mapping
        What was asked, for the JSON.
    output : str, optional
        The file it is in.
    yards : bool
        Tell each cell apart: they are yards, not a grid.
    notes : sequence of str
        To be said before the map's own warnings.
    """
    summary = summarise(result)
    stacked = "days_to_p50" in result
    title = words.map_title(result, summary)
    found = words.map_result(result, summary, output)
    if yards:
        rows = words.yard_rows(result)
        text = words.yards_text(rows, title, result)
        found["yards"] = rows
    else:
        rows = words.map_rows(summary)
        text = words.map_text(result, summary, title)
    answer = Answer(
        "map", dict(inputs), found, text, rows,
        warnings=[*notes, *words.map_warnings(result, stacked=stacked)],
        cautions=words.map_cautions(summary, stacked=stacked),
    )  # fmt: skip

    def draw(look: "Look", narrow: bool) -> "Figure":
        from emcforecast.charts.map import map_figure, shown_first

        return map_figure(
            result, variable=shown_first(result), look=look, narrow=narrow
        )

    return Answered(answer, summary, draw=draw)
