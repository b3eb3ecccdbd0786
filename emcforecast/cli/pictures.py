"""Pictures: their look, their source line, writing them."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from emcforecast.cli.group import say
from emcforecast.cli.options import is_quiet
from emcforecast.files import replace
from emcforecast.report.weather import source_name

if TYPE_CHECKING:
    import xarray as xr
    from matplotlib.figure import Figure

    from emcforecast.charts.style import Look


def source_line(weather: "xr.Dataset") -> str:
    """Say where the weather comes from, with its attribution, for a picture's foot."""
    parts = [weather.attrs["source"], weather.attrs.get("attribution")]
    return ". ".join(source_name(str(part)).rstrip(".") for part in parts if part)


def look(options: Mapping[str, Any]) -> "Look":
    """Return the look the picture options ask for."""
    from emcforecast.charts import style

    return style.DARK if options.get("dark") else style.LIGHT


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
        say(f"Picture: {path}", err=True)
