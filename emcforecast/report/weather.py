"""Words about a weather series: what an answer is based on."""

from typing import TYPE_CHECKING

from emcforecast.report.repairs import COST_OF_MONTHS
from emcforecast.report.words import sentence
from emcforecast.wood.movement import Movement
from emcforecast.wood.species import Figure
from emcforecast.wood.weight import StackWeight

if TYPE_CHECKING:
    import xarray as xr


def based_on(weather: "xr.Dataset") -> list[str]:
    """Say what weather an answer is based on, one sentence a line."""
    from emcforecast.weather.repairs import repairs_of
    from emcforecast.weather.series import has_years, years_of

    attrs = weather.attrs
    years = years_of(weather)
    step = "hourly" if attrs["step"] == "hour" else "monthly"
    if has_years(weather):
        span = f"{years[0]} to {years[-1]}, {len(years)} whole years"
    elif attrs["kind"] == "typical year":
        span = "one typical year"
    elif attrs["kind"] == "normals":
        span = "monthly normals"
    else:
        span = "one year"
    repairs = len(repairs_of(weather))
    what = "1 repair" if repairs == 1 else f"{repairs} repairs"
    mended = f"; {what}, see `emcforecast check`" if repairs else ""
    held = span if attrs["kind"] == "normals" else f"{step}, {span}"
    lines = [f"Based on: {attrs['source']}, {held}{mended}."]
    if not has_years(weather):
        lines.append("From one year no year-to-year range can be given.")
    if attrs["step"] == "month":
        lines.append(sentence(COST_OF_MONTHS))
    if attrs.get("attribution"):
        lines.append(sentence(attrs["attribution"]))
    return lines


def source_line(weather: "xr.Dataset") -> str:
    """Say where the weather comes from, with its attribution, for a picture's foot."""
    parts = [weather.attrs["source"], weather.attrs.get("attribution")]
    return ". ".join(str(part).rstrip(".") for part in parts if part)


def figure_source(figure: Figure) -> str:
    """Say where a wood's green moisture comes from."""
    return {
        "published": figure.source,
        "halves": f"half heartwood, half sapwood; {figure.source}",
        "one part": f"{figure.part}, the only part published; {figure.source}",
        "mean": (
            f"not published; mean {figure.part} value of the {figure.count} of "
            f"{figure.group} in the table stands in"
        ),
    }[figure.basis]


def moisture_source(stack: StackWeight) -> str:
    """Say where the moisture of a weighed stack comes from."""
    return "as given" if stack.green is None else f"green: {figure_source(stack.green)}"


def formula_words(change: Movement) -> str:
    """Say which published numbers a change of size rests on."""
    wood = change.shrinkage
    if change.by_coefficient:
        return f"published change of {wood.coefficient:.5f} of its size per % MC"
    return (
        f"published shrinkage of {wood.total:.3g} % from green to ovendry, evenly "
        f"below {wood.starts:g} % MC"
    )
