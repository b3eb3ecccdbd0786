"""Words about a weather series: what an answer is based on."""

from typing import TYPE_CHECKING

from emcforecast.language import NP_, _, n_, p_
from emcforecast.report.repair_table import COST_OF_MONTHS
from emcforecast.report.words import sentence
from emcforecast.wood.movement import Movement
from emcforecast.wood.species import Figure
from emcforecast.wood.weight import StackWeight

if TYPE_CHECKING:
    import xarray as xr


_PARTS = {
    "mixed": NP_("part of the tree", "mixed"),
    "heartwood": NP_("part of the tree", "heartwood"),
    "sapwood": NP_("part of the tree", "sapwood"),
}


def part_name(part: str) -> str:
    """Name a part of the tree."""
    return p_("part of the tree", _PARTS[part])


DEMONSTRATION = (
    NP_("source", "Kalvenau, an invented valley; made weather, not measured"),
    NP_("source", "Invented weather, made from a seed for demonstration"),
)


def source_name(source: str) -> str:
    """Name where weather comes from; only the invented place is called otherwise."""
    return p_("source", source) if source in DEMONSTRATION else source


def based_on(weather: "xr.Dataset") -> list[str]:
    """Say what weather an answer is based on, one sentence a line."""
    from emcforecast.weather.repairs import repairs_of
    from emcforecast.weather.years import has_years, years_of

    attrs = weather.attrs
    years = years_of(weather)
    step = _("hourly") if attrs["step"] == "hour" else _("monthly")
    if has_years(weather):
        span = _(
            "{first} to {last}, {count} whole years",
            first=years[0],
            last=years[-1],
            count=len(years),
        )
    elif attrs["kind"] == "typical year":
        span = _("one typical year")
    elif attrs["kind"] == "normals":
        span = _("monthly normals")
    else:
        span = _("one year")
    held = span if attrs["kind"] == "normals" else f"{step}, {span}"
    repairs = len(repairs_of(weather))
    fields = {"source": source_name(str(attrs["source"])), "span": held}
    lines = [
        n_(
            "Based on: {source}, {span}; 1 repair, see `emcforecast check`.",
            "Based on: {source}, {span}; {count} repairs, see `emcforecast check`.",
            repairs,
            **fields,
        )
        if repairs
        else _("Based on: {source}, {span}.", **fields)
    ]
    if not has_years(weather):
        lines.append(_("From one year no year-to-year range can be given."))
    if attrs["step"] == "month":
        lines.append(sentence(_(COST_OF_MONTHS)))
    if attrs.get("attribution"):
        lines.append(sentence(source_name(attrs["attribution"])))
    return lines


def source_line(weather: "xr.Dataset") -> str:
    """Say where the weather comes from, with its attribution, for a picture's foot."""
    parts = [weather.attrs["source"], weather.attrs.get("attribution")]
    return ". ".join(source_name(str(part)).rstrip(".") for part in parts if part)


def figure_source(figure: Figure) -> str:
    """Say where a wood's green moisture comes from."""
    return {
        "published": figure.source,
        "halves": _("half heartwood, half sapwood; {source}", source=figure.source),
        "one part": _(
            "{part}, the only part published; {source}",
            part=part_name(figure.part),
            source=figure.source,
        ),
        "mean": _(
            "not published; mean {part} value of the {count} of {group} in the table "
            "stands in",
            part=part_name(figure.part),
            count=figure.count,
            group=p_("group of woods", figure.group),
        ),
    }[figure.basis]


def moisture_source(stack: StackWeight) -> str:
    """Say where the moisture of a weighed stack comes from."""
    if stack.green is None:
        return _("as given")
    return _("green: {source}", source=figure_source(stack.green))


def formula_words(change: Movement) -> str:
    """Say which published numbers a change of size rests on."""
    wood = change.shrinkage
    if change.by_coefficient:
        return _(
            "published change of {share:.5f} of its size per % MC",
            share=wood.coefficient,
        )
    return _(
        "published shrinkage of {total:.3g} % from green to ovendry, evenly below "
        "{starts:g} % MC",
        total=wood.total,
        starts=wood.starts,
    )
