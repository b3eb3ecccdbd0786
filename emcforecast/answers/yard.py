"""Every stack of a yard: its moisture now, what it reaches when, what is next."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from emcforecast._types import Progress
from emcforecast.answers.answered import Answered
from emcforecast.report.answer import Answer
from emcforecast.report.weather import based_on, source_line
from emcforecast.report.yard import answer as first_sentence
from emcforecast.report.yard import cautions_of, yard_text, yard_warnings
from emcforecast.report.yard_json import yard_result, yard_rows
from emcforecast.report.yard_labels import label_lines
from emcforecast.units import UnitSystem
from emcforecast.yard.model import Yard
from emcforecast.yard.result import YardState
from emcforecast.yard.state import yard_state, yard_weather

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look

__all__ = ["labels_answered", "yard_answer", "yard_answered", "yard_weather"]


def yard_answer(
    yard: Yard,
    weather: "xr.Dataset",
    today: date,
    *,
    system: UnitSystem = "si",
    only: Sequence[str] = (),
    paths: bool = False,
    readings: bool = False,
    inputs: Mapping[str, Any] | None = None,
    progress: Progress | None = None,
) -> Answered[YardState]:
    """Answer how every stack of a yard stands and what is next.

    Parameters
    ----------
    yard : Yard
        As its file says.
    weather : Dataset
        Of the yard: `yard_weather`.
    today : date
        The day taken for today.
    system : {"us", "si"}
        Units of the words.
    only : sequence of str
        Names of the stacks asked for; all of them where empty.
    paths : bool
        Whether a picture is to be drawn: each stack's moisture day by day is kept.
    readings : bool
        Whether the text tells what every reading did.
    inputs : mapping
        What was asked, as typed.
    progress : callable, optional
        Told how far the work is.

    Raises
    ------
    EmcforecastError
        When the question cannot be answered as asked.
    """
    for name in only:
        yard.stack(name)
    state = yard_state(
        yard,
        weather,
        today,
        system=system,
        only=only,
        paths=paths,
        progress=progress,
    )
    return yard_answered(
        state, weather, system=system, readings=readings, inputs=inputs
    )


def yard_answered(
    state: YardState,
    weather: "xr.Dataset",
    *,
    system: UnitSystem = "si",
    readings: bool = False,
    inputs: Mapping[str, Any] | None = None,
) -> Answered[YardState]:
    """Say how a yard stands, in one system of units; parameters as above."""

    def draw(look: "Look", narrow: bool) -> "Figure":
        from emcforecast.charts.yard import yard_figure

        return yard_figure(
            state,
            system=system,
            source=source_line(weather),
            look=look,
            narrow=narrow,
        )

    drawable = any(one.path is not None for one in state.stacks)
    return Answered(
        Answer(
            "yard",
            inputs or {},
            yard_result(state),
            yard_text(state, based_on(weather), readings=readings),
            yard_rows(state),
            weather,
            warnings=yard_warnings(state),
            cautions=cautions_of(state, system),
        ),
        state,
        (first_sentence(state),),
        draw if drawable else None,
        lambda units: yard_answered(
            state, weather, system=units, readings=readings, inputs=inputs
        ),
    )


def labels_answered(
    state: YardState,
    weather: "xr.Dataset",
    *,
    system: UnitSystem = "si",
    inputs: Mapping[str, Any] | None = None,
) -> Answered[list[tuple[str, list[str]]]]:
    """Say what the label of each stack says; found: (name, lines) of each."""
    said = [(one.stack.name, label_lines(one, state, system)) for one in state.stacks]
    return Answered(
        Answer(
            "yard labels",
            inputs or {},
            {"labels": [{"stack": name, "lines": lines} for name, lines in said]},
            "\n\n".join("\n".join([name, *lines]) for name, lines in said),
            weather=weather,
        ),
        said,
    )
