"""How good such forecasts would have been."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from emcforecast._types import Progress
from emcforecast.answers.answered import Answered
from emcforecast.cautions import Caution
from emcforecast.forecast.hindcast import WOODS, hindcast
from emcforecast.forecast.hindcast_scores import Hindcast
from emcforecast.report import hindcast as words
from emcforecast.report.answer import Answer
from emcforecast.report.cautions import caution_words
from emcforecast.report.names import name_note
from emcforecast.report.weather import based_on, source_line
from emcforecast.wood.species import Found, Species

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look

PLACES = ("outdoor", "shed", "indoor")
"""Where the stacks are unless it is said."""


def hindcast_answer(
    weather: "xr.Dataset",
    wood: Found | None = None,
    thickness: str | float = "27 mm",
    places: Sequence[str] = PLACES,
    target: float = 15.0,
    *,
    inputs: Mapping[str, Any] | None = None,
    progress: Progress | None = None,
) -> Answered[Hindcast]:
    """Answer how far such forecasts could have been trusted.

    Parameters
    ----------
    weather : Dataset
        The weather series, two whole years at least.
    wood : Found, optional
        The species; three usual boards where it is left out.
    thickness : str or float
        Of that wood, as sawn, with its unit, or mm.
    places : sequence of str
        Where the stacks are.
    target : float
        The moisture whose date is scored, % of oven-dry mass.
    inputs : mapping
        What was asked, as typed.
    progress : callable, optional
        Told how far the work is.

    Raises
    ------
    EmcforecastError
        When the question cannot be answered as asked.
    """
    woods: Sequence[tuple[str | Species, float | str]] = WOODS
    if wood is not None:
        woods = [(wood.species, thickness)]
    found = hindcast(weather, woods, tuple(places), target=target, progress=progress)
    sentences = words.hindcast_sentences(found)
    named = [
        {"species": s if isinstance(s, str) else s.name, "thickness": t}
        for s, t in woods
    ]

    def draw(look: "Look", narrow: bool) -> "Figure":
        from emcforecast.charts.hindcast import hindcast_figure

        return hindcast_figure(
            found, source=source_line(weather), look=look, narrow=narrow
        )

    return Answered(
        Answer(
            "hindcast",
            {**(inputs or {}), "woods": named},
            words.hindcast_result(found, sentences),
            words.hindcast_text(found, sentences, based_on(weather)),
            words.hindcast_rows(found),
            weather,
            warnings=[] if wood is None else [*filter(None, [name_note(wood)])],
            cautions=caution_words([Caution.METER]),
        ),
        found,
        tuple(sentences),
        draw,
    )
