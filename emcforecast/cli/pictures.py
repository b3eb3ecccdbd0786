"""Pictures: their look, their source line, writing them."""

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from emcforecast.cli.options import is_quiet
from emcforecast.cli.terminal import say
from emcforecast.files import replace
from emcforecast.language import _

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from emcforecast.answers.answered import Answered
    from emcforecast.charts.style import Look


def look(options: Mapping[str, Any]) -> "Look":
    """Return the look the picture options ask for."""
    from emcforecast.charts import style

    return style.DARK if options.get("dark") else style.LIGHT


def drawing(
    answered: "Answered[Any]", options: Mapping[str, Any]
) -> Callable[[], None] | None:
    """Return what draws and writes the picture; None where none is asked for."""
    draw, path = answered.draw, options["plot_file"]
    if draw is None or path is None:
        return None
    return lambda: save_figure(draw(look(options), options["narrow"]), path)


def save_figure(figure: "Figure", path: Path) -> None:
    """Write a picture; the same input gives the same bytes.

    Raises
    ------
    InputError
        When the file cannot be written.
    """
    from emcforecast.charts.drawn import drawn

    replace(path, drawn(figure, path.suffix.lower().lstrip(".") or "png"))
    if not is_quiet():
        say(_("Picture: {file}", file=path), err=True)
