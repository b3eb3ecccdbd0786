"""The words of `check`: what a weather file holds, mended or refused."""

import shlex
from textwrap import fill
from typing import TYPE_CHECKING, Any

from emcforecast.conversions import MM_PER_INCH
from emcforecast.dates import month
from emcforecast.language import N_, _, n_, number, p_
from emcforecast.report.repairs import repair_sentence
from emcforecast.report.weather import source_name
from emcforecast.report.words import listed, wrapped
from emcforecast.units import UnitSystem, celsius_to_fahrenheit
from emcforecast.weather.quantities import quantity_name

if TYPE_CHECKING:
    from emcforecast.weather.check import Inspection

ONE_YEAR = {
    "typical year": N_("January to December: one typical year, no real dates"),
    "normals": N_("January to December: means of many years, no real dates"),
}
UNIT_WORDS = {"degC": "°C", "m s-1": "m/s", "W m-2": "W/m²"}
FULL = 0.995
"""Share of a month's intervals that counts as all of them."""


def check_text(
    found: "Inspection", name: str, system: UnitSystem, *, optioned: bool = False
) -> str:
    """Say whether a file serves, then what it holds and each repair.

    Parameters
    ----------
    found : Inspection
        What the file holds.
    name : str
        The file, as it was named.
    system : {"us", "si"}
        Units to show.
    optioned : bool
        Whether options said what the file does not.

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    verdict = _verdict(found, name, optioned=optioned)
    # A name of a file is to be copied whole.
    parts = [fill(verdict, 80, break_long_words=False, break_on_hyphens=False), ""]
    parts += [
        fill(
            f"{label:<12}{text}",
            80,
            subsequent_indent=" " * 12,
            break_long_words=False,
            break_on_hyphens=False,
        )
        for label, text in _facts(found)
    ]
    if found.variables:
        parts += ["", *_variables(found, system)]
    if found.coverage_by_month:
        parts += ["", *_months(found)]
    parts += ["", _("Mended") if found.repairs else _("Nothing had to be mended.")]
    parts += [wrapped(f"- {repair_sentence(item)}") for item in found.repairs]
    return "\n".join(parts)


def _verdict(found: "Inspection", name: str, *, optioned: bool) -> str:
    if not found.ok:
        return str(found.refused)
    if found.short:
        return _(
            "{file} can be read, but not for a whole year: {why}. As a logger file it "
            "serves `emcforecast calibrate` and `compare`.",
            file=name,
            why=found.short,
        )
    return _(
        N_(
            "{file} serves: `emcforecast floor {quoted}`, with the same options, is "
            "next."
        )
        if optioned
        else N_("{file} serves: `emcforecast floor {quoted}` is next."),
        file=name,
        quoted=shlex.quote(name),
    )


def _facts(found: "Inspection") -> list[tuple[str, str]]:
    words = {"hour": N_("hourly"), "month": N_("monthly")}
    place = found.place
    where = ", ".join(
        _(said, value=place[key])
        for key, said in (
            ("latitude", N_("latitude {value:g}°")),
            ("longitude", N_("longitude {value:g}°")),
            ("elevation", N_("elevation {value:g} m")),
            ("utc_offset", N_("clock {value:g} h from UTC")),
        )
        if key in place
    )
    step = _(words[found.step]) if found.step in words else ""
    if found.rebuilt_from:
        rebuilt = {"day": N_("rebuilt from days"), "month": N_("rebuilt from months")}
        step = ", ".join([step, _(rebuilt[found.rebuilt_from])])
    rows = n_("{count} row", "{count} rows", found.rows)
    return [
        (_("Source"), source_name(str(found.source))),
        (_("Kind"), p_("kind of weather", str(found.kind))),
        (
            _("Place"),
            where or _("not known: give --latitude --longitude --elevation"),
        ),
        (_("Span"), _span(found)),
        (_("Step"), f"{step}, {rows}"),
        *(((_("Found"), column)) for column in found.columns),
    ]


def _span(found: "Inspection") -> str:
    if found.start is None:
        return _(ONE_YEAR[str(found.kind)])
    return _("{start} to {end} UTC", start=found.start, end=found.end)


def _variables(found: "Inspection", system: UnitSystem) -> list[str]:
    heads = _("mean").rjust(8) + _("least").rjust(8) + _("greatest").rjust(10)
    lines = [" " * 20 + heads + "  " + _("unit")]
    for name, value in found.variables.items():
        if name == "precipitation":
            continue
        numbers = [value[key] for key in ("mean", "min", "max")]
        unit = UNIT_WORDS.get(value["units"], value["units"])
        if unit == "°C" and system == "us":
            numbers = [celsius_to_fahrenheit(number) for number in numbers]
            unit = "°F"
        forms = ("8.1f", "8.1f", "10.1f")
        cells = "".join(map(number, numbers, forms))
        lines.append(f"{quantity_name(name):<20}{cells}  {unit}")
    if "precipitation" in found.variables:
        lines.append(_rain(found, system))
    return lines


def _rain(found: "Inspection", system: UnitSystem) -> str:
    """Say what falls in a year, or in all, and at most in one step."""
    value = found.variables["precipitation"]
    of_year = value["a_year"]
    step = "hour" if found.step == "hour" else "month"
    total = of_year * found.intervals / (8766.0 if step == "hour" else 12.0)
    much, most = total if found.short else of_year, value["max"]
    amount, peak = f"{number(much, '8.1f')} mm", number(most, ".1f")
    if system == "us":
        amount = _("{inches:8.1f} inches", inches=much / MM_PER_INCH)
        peak = number(most / MM_PER_INCH, ".2f")
    said = {
        (True, "hour"): N_("{amount} in all, at most {most} within an hour"),
        (True, "month"): N_("{amount} in all, at most {most} within a month"),
        (False, "hour"): N_("{amount} a year, at most {most} within an hour"),
        (False, "month"): N_("{amount} a year, at most {most} within a month"),
    }[bool(found.short), step]
    rain = _(said, amount=amount, most=peak)
    return f"{quantity_name('precipitation'):<20}{rain}"


def _months(found: "Inspection") -> list[str]:
    thin = [item for item in found.coverage_by_month if item["coverage"] < FULL]
    if not thin:
        return [_("Every month is covered in full.")]
    none = [month(item["month"]) for item in thin if item["coverage"] == 0.0]
    some = [item for item in thin if item["coverage"] > 0.0]
    lines = [_("Months not covered in full")]
    lines += [
        f"{month(item['month']):<12}{number(100 * item['coverage'], '5.1f')} %"
        for item in some
    ]
    if none:
        lines.append(wrapped(_("nothing of {months}", months=listed(none))))
    return lines


def check_result(found: "Inspection") -> dict[str, Any]:
    """Return what a file holds as plain values for JSON."""
    names = ("ok", "refused", "step", "rows", "start", "end", "source", "kind")
    return {
        **{name: getattr(found, name) for name in (*names, "rebuilt_from", "place")},
        "columns": list(found.columns),
        "variables": found.variables,
        "coverage_by_month": check_rows(found),
        "repairs": [repair_sentence(item) for item in found.repairs],
        "short": found.short,
    }


def check_rows(found: "Inspection") -> list[dict[str, Any]]:
    """Return the coverage by month as rows."""
    return [dict(item) for item in found.coverage_by_month]
