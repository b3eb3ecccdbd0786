"""How dry wood gets in each place, month by month."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from emcforecast._types import Progress
from emcforecast.answers.answered import Answered
from emcforecast.forecast.floor import floor
from emcforecast.forecast.floor_result import Floor
from emcforecast.forecast.targets import Target, target_for_use
from emcforecast.report.answer import Answer
from emcforecast.report.floor import (
    floor_cautions,
    floor_result,
    floor_rows,
    floor_text,
)
from emcforecast.report.floor_sentences import floor_sentences, title_of
from emcforecast.report.names import name_note
from emcforecast.report.storage import fallback_words
from emcforecast.report.weather import based_on, source_line
from emcforecast.storage.settings import Setting
from emcforecast.units import UnitSystem
from emcforecast.wood.species import Found

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look


def floor_answer(
    weather: "xr.Dataset",
    wood: Found,
    thickness: str | float,
    settings: Sequence[Setting] = (),
    targets: Sequence[Target] = (),
    *,
    system: UnitSystem = "si",
    inputs: Mapping[str, Any] | None = None,
    months: bool = False,
    air: bool = False,
    progress: Progress | None = None,
) -> Answered[Floor]:
    """Answer how dry wood gets in each place.

    Parameters
    ----------
    weather : Dataset
        The weather series.
    wood : Found
        The species, with the note on how its name was read.
    thickness : str or float
        As sawn, with its unit, or mm.
    settings : sequence of Setting
        The places; those left out stay as assumed.
    targets : sequence of Target
        To judge the places by; furniture where none is given.
    system : {"us", "si"}
        Units of the words.
    inputs : mapping
        What was asked, as typed.
    months, air : bool
        Whether the text holds the lowest, and the air, of every month.
    progress : callable, optional
        Told how far the work is.

    Raises
    ------
    EmcforecastError
        When the question cannot be answered as asked.
    """
    found = floor(weather, wood.species, thickness, settings, progress=progress)
    return floor_answered(
        found,
        weather,
        targets,
        system=system,
        note=name_note(wood),
        inputs=inputs,
        months=months,
        air=air,
    )


def floor_answered(
    found: Floor,
    weather: "xr.Dataset",
    targets: Sequence[Target] = (),
    *,
    system: UnitSystem = "si",
    note: str = "",
    inputs: Mapping[str, Any] | None = None,
    months: bool = False,
    air: bool = False,
) -> Answered[Floor]:
    """Say what `floor` found, in one system of units; parameters as above."""
    wanted = list(targets) or [target_for_use("furniture")]
    sentences = floor_sentences(found, wanted, system)
    fallbacks = fallback_words(
        dict.fromkeys(f for s in found.settings.values() for f in s.fallbacks)
    )

    def draw(look: "Look", narrow: bool) -> "Figure":
        from emcforecast.charts.floor import floor_figure

        return floor_figure(
            found,
            {name: title_of(found, name) for name in found.settings},
            targets=wanted,
            system=system,
            source=source_line(weather),
            look=look,
            narrow=narrow,
        )

    return Answered(
        Answer(
            "floor",
            inputs or {},
            floor_result(found, sentences),
            floor_text(
                found, wanted, based_on(weather), system, months=months, air=air
            ),
            floor_rows(found),
            weather,
            warnings=[*filter(None, [note]), *fallbacks],
            cautions=floor_cautions(found),
        ),
        found,
        tuple(sentences),
        draw,
        lambda units: floor_answered(
            found,
            weather,
            targets=wanted,
            note=note,
            inputs=inputs,
            months=months,
            air=air,
            system=units,
        ),
    )
