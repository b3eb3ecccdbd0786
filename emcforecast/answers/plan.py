"""Where next, when to bring in, ready by when."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from emcforecast._types import Progress
from emcforecast.answers.answered import Answered
from emcforecast.forecast.plan.plan import plan
from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.targets import Target
from emcforecast.report import plan as words
from emcforecast.report.answer import Answer
from emcforecast.report.names import name_note
from emcforecast.report.plan_result import plan_result, plan_rows
from emcforecast.report.plan_sentences import plan_sentences
from emcforecast.report.weather import based_on, source_line
from emcforecast.storage.settings import Setting
from emcforecast.units import UnitSystem
from emcforecast.wood.species import Found

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look
    from emcforecast.ensemble.air import StorageAir


def plan_answer(
    weather: "xr.Dataset",
    wood: Found,
    thickness: str | float,
    *,
    stacked: date,
    need: date,
    target: Target,
    have: Sequence[Setting],
    width_mm: float | None = None,
    length_mm: float | None = None,
    sealed_ends: bool = False,
    from_mc: float | None = None,
    stacked_in: Setting | None = None,
    today: date | None = None,
    region: str | None = None,
    system: UnitSystem = "si",
    inputs: Mapping[str, Any] | None = None,
    air: bool = False,
    known_air: "StorageAir | None" = None,
    progress: Progress | None = None,
) -> Answered[Plan]:
    """Answer which route through the places at hand is best.

    Parameters
    ----------
    weather : Dataset
        The weather series.
    wood : Found
        The species, with the note on how its name was read.
    thickness : str or float
        As sawn, with its unit, or mm.
    stacked, need : date
        When it was stacked, and when it must be ready.
    target : Target
        What it must be fit for.
    have : sequence of Setting
        The places at hand.
    width_mm, length_mm, sealed_ends, from_mc, stacked_in, today, known_air, progress
        As `forecast.plan.plan.plan` takes them.
    region : str, optional
        Where the work will live, if it was said.
    system : {"us", "si"}
        Units of the words.
    inputs : mapping
        What was asked, as typed.
    air : bool
        Whether the picture holds the air of the last place too.

    Raises
    ------
    EmcforecastError
        When the question cannot be answered as asked.
    """
    found = plan(
        weather,
        wood.species,
        thickness,
        width_mm=width_mm,
        length_mm=length_mm,
        sealed_ends=sealed_ends,
        stacked=stacked,
        need=need,
        target=target,
        have=list(have),
        from_mc=from_mc,
        stacked_in=stacked_in,
        today=today,
        known_air=known_air,
        progress=progress,
    )
    return plan_answered(
        found,
        weather,
        system=system,
        today=today,
        notes=[name_note(wood), words.target_note(target, region)],
        inputs=inputs,
        air=air,
    )


def plan_answered(
    found: Plan,
    weather: "xr.Dataset",
    *,
    system: UnitSystem = "si",
    today: date | None = None,
    notes: Sequence[str] = (),
    inputs: Mapping[str, Any] | None = None,
    air: bool = False,
) -> Answered[Plan]:
    """Say what `plan` found, in one system of units; parameters as above."""
    north = float(weather.attrs.get("latitude", 45)) >= 0
    risks = words.plan_risks(found, north=north)
    asked = {**(inputs or {}), "species": found.board.species}

    def draw(look: "Look", narrow: bool) -> "Figure":
        from emcforecast.charts.plan import plan_figure

        return plan_figure(
            found,
            source=source_line(weather),
            air=air,
            look=look,
            narrow=narrow,
        )

    return Answered(
        Answer(
            "plan",
            asked,
            plan_result(found, risks),
            words.plan_text(found, risks, based_on(weather), system),
            plan_rows(found),
            weather,
            warnings=[
                *filter(None, notes),
                *words.plan_warnings(found, today, system),
            ],
            cautions=words.plan_cautions(found),
        ),
        found,
        tuple(plan_sentences(found)),
        draw,
        lambda units: plan_answered(
            found,
            weather,
            today=today,
            notes=notes,
            inputs=inputs,
            air=air,
            system=units,
        ),
    )
