"""When a stack is how dry, shell and core."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from emcforecast._types import Progress
from emcforecast.answers.answered import Answered
from emcforecast.ensemble.evidence import Reading
from emcforecast.ensemble.route import Cut
from emcforecast.forecast.dry import dry
from emcforecast.forecast.dry_result import Dry
from emcforecast.report import dry as words
from emcforecast.report.answer import Answer
from emcforecast.report.dry_sentences import dry_sentences
from emcforecast.report.names import name_note
from emcforecast.report.weather import based_on, source_line
from emcforecast.storage.settings import Setting
from emcforecast.units import UnitSystem
from emcforecast.wood.species import Found

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look
    from emcforecast.ensemble.air import StorageAir


def dry_answer(
    weather: "xr.Dataset",
    wood: Found | Sequence[Found],
    thicknesses: Sequence[str | float],
    stacked: date | None = None,
    setting: str | Setting = "outdoor",
    target: float = 15.0,
    *,
    width_mm: float | None = None,
    length_mm: float | None = None,
    sealed_ends: bool = False,
    from_mc: float | None = None,
    moves: Sequence[tuple[Any, Any]] = (),
    cuts: Sequence[Cut] = (),
    readings: Sequence[Reading] = (),
    today: date | None = None,
    system: UnitSystem = "si",
    inputs: Mapping[str, Any] | None = None,
    risks: bool = False,
    more: bool = False,
    known_air: "StorageAir | None" = None,
    progress: Progress | None = None,
) -> Answered[Dry]:
    """Answer when a stack reaches 30 %, 20 % and the target.

    Parameters
    ----------
    weather : Dataset
        The weather series.
    wood : Found or sequence of Found
        The species, with the note on how its name was read; several in a mixed stack.
    thicknesses : sequence of str or float
        As sawn, with their units, or mm; the slowest counts.
    stacked : date, optional
        Today where left out.
    setting : str or Setting
        Where the stack is first.
    target : float
        The moisture to reach, % of oven-dry mass.
    width_mm, length_mm, sealed_ends, from_mc, moves, cuts, readings, today
        As `forecast.dry.dry` takes them.
    known_air, progress
        As `forecast.dry.dry` takes them.
    system : {"us", "si"}
        Units of the words.
    inputs : mapping
        What was asked, as typed.
    risks, more : bool
        Whether the text holds every risk, and what else is known.

    Raises
    ------
    EmcforecastError
        When the question cannot be answered as asked.
    """
    woods = [wood] if isinstance(wood, Found) else list(wood)
    found = dry(
        weather,
        [each.species for each in woods],
        list(thicknesses),
        stacked,
        setting,
        target,
        width_mm=width_mm,
        length_mm=length_mm,
        sealed_ends=sealed_ends,
        from_mc=from_mc,
        moves=list(moves),
        cuts=list(cuts),
        readings=list(readings),
        today=today,
        known_air=known_air,
        progress=progress,
    )
    return dry_answered(
        found,
        weather,
        system=system,
        note=" ".join(filter(None, map(name_note, woods))),
        inputs=inputs,
        risks=risks,
        more=more,
    )


def dry_answered(
    found: Dry,
    weather: "xr.Dataset",
    *,
    system: UnitSystem = "si",
    note: str = "",
    inputs: Mapping[str, Any] | None = None,
    risks: bool = False,
    more: bool = False,
) -> Answered[Dry]:
    """Say what `dry` found, in one system of units; parameters as above."""
    sentences = dry_sentences(found, system)
    asked = dict(inputs or {})
    mixed = list(
        dict.fromkeys(b.wood.name for b in [found.board, *(b for b, _ in found.others)])
    )
    asked |= {
        "species": found.board.species if len(mixed) == 1 else mixed,
        "stacked": str(found.begun),
    }

    def draw(look: "Look", narrow: bool) -> "Figure":
        from emcforecast.charts.dry import dry_figure

        return dry_figure(
            found,
            words.places(found),
            system=system,
            source=source_line(weather),
            look=look,
            narrow=narrow,
        )

    return Answered(
        Answer(
            "dry",
            asked,
            words.dry_result(found, sentences),
            words.dry_text(found, based_on(weather), system, risks=risks, more=more),
            words.dry_rows(found),
            weather,
            warnings=[*filter(None, [note]), *words.dry_warnings(found, system)],
            cautions=words.dry_cautions(found),
        ),
        found,
        tuple(sentences),
        draw,
        lambda units: dry_answered(
            found,
            weather,
            note=note,
            inputs=inputs,
            risks=risks,
            more=more,
            system=units,
        ),
    )
