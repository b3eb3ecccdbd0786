"""Words about a weather series: what an answer rests on."""

from typing import TYPE_CHECKING

from emcforecast.report.repairs import COST_OF_MONTHS
from emcforecast.report.words import sentence

if TYPE_CHECKING:
    import xarray as xr


def rests_on(weather: "xr.Dataset") -> list[str]:
    """Say what weather an answer rests on, one sentence a line."""
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
    lines = [f"Rests on: {attrs['source']}, {held}{mended}."]
    if not has_years(weather):
        lines.append("From one year no year-to-year range can be given.")
    if attrs["step"] == "month":
        lines.append(sentence(COST_OF_MONTHS))
    if attrs.get("attribution"):
        lines.append(sentence(attrs["attribution"]))
    return lines
