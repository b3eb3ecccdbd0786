"""The words of `check`: what a weather file holds, mended or refused."""

import shlex
from textwrap import fill
from typing import TYPE_CHECKING, Any

from emcforecast.conversions import MM_PER_INCH
from emcforecast.report.repairs import repair_sentence
from emcforecast.report.words import listed, wrapped
from emcforecast.units import UnitSystem, celsius_to_fahrenheit

if TYPE_CHECKING:
    from emcforecast.weather.check import Inspection

ONE_YEAR = {"typical year": "one typical year", "normals": "means of many years"}
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
    parts += ["", "Mended" if found.repairs else "Nothing had to be mended."]
    parts += [wrapped(f"- {repair_sentence(item)}") for item in found.repairs]
    return "\n".join(parts)


def _verdict(found: "Inspection", name: str, *, optioned: bool) -> str:
    if not found.ok:
        return str(found.refused)
    if found.short:
        return (
            f"{name} can be read, but not for a whole year: {found.short}. As a logger "
            "file it serves `emcforecast calibrate` and `compare`."
        )
    same = ", with the same options," if optioned else ""
    return f"{name} serves: `emcforecast floor {shlex.quote(name)}`{same} is next."


def _facts(found: "Inspection") -> list[tuple[str, str]]:
    words = {"hour": "hourly", "month": "monthly"}
    place = found.place
    where = ", ".join(
        f"{key.replace('utc_offset', 'clock')} {place[key]:g}{unit}"
        for key, unit in (
            ("latitude", "°"),
            ("longitude", "°"),
            ("elevation", " m"),
            ("utc_offset", " h from UTC"),
        )
        if key in place
    )
    step = words.get(found.step or "", "")
    rebuilt = f", rebuilt from {found.rebuilt_from}s" if found.rebuilt_from else ""
    return [
        ("Source", str(found.source)),
        ("Kind", str(found.kind)),
        ("Place", where or "not known: give --latitude --longitude --elevation"),
        ("Span", _span(found)),
        ("Step", f"{step}{rebuilt}, {found.rows} row{'s' * (found.rows != 1)}"),
        *((("Found", column)) for column in found.columns),
    ]


def _span(found: "Inspection") -> str:
    if found.start is None:
        return f"January to December: {ONE_YEAR[str(found.kind)]}, no real dates"
    return f"{found.start} to {found.end} UTC"


def _variables(found: "Inspection", system: UnitSystem) -> list[str]:
    lines = [f"{'':<20}{'mean':>8}{'least':>8}{'greatest':>10}  unit"]
    for name, value in found.variables.items():
        if name == "precipitation":
            continue
        numbers = [value[key] for key in ("mean", "min", "max")]
        unit = UNIT_WORDS.get(value["units"], value["units"])
        if unit == "°C" and system == "us":
            numbers = [celsius_to_fahrenheit(number) for number in numbers]
            unit = "°F"
        mean, least, most = numbers
        label = name.replace("_", " ")
        lines.append(f"{label:<20}{mean:8.1f}{least:8.1f}{most:10.1f}  {unit}")
    if "precipitation" in found.variables:
        lines.append(_rain(found, system))
    return lines


def _rain(found: "Inspection", system: UnitSystem) -> str:
    """Say what falls in a year, or in all, and at most in one step."""
    value = found.variables["precipitation"]
    of_year = value["a_year"]
    step = "hour" if found.step == "hour" else "month"
    total = of_year * found.intervals / (8766.0 if step == "hour" else 12.0)
    much, how = (total, "in all") if found.short else (of_year, "a year")
    most = value["max"]
    if system == "us":
        return (
            f"{'precipitation':<20}{much / MM_PER_INCH:8.1f} inches {how}, at most "
            f"{most / MM_PER_INCH:.2f} within {'an' if step == 'hour' else 'a'} {step}"
        )
    return (
        f"{'precipitation':<20}{much:8.1f} mm {how}, at most {most:.1f} within "
        f"{'an' if step == 'hour' else 'a'} {step}"
    )


def _months(found: "Inspection") -> list[str]:
    thin = [item for item in found.coverage_by_month if item["coverage"] < FULL]
    if not thin:
        return ["Every month is covered in full."]
    none = [item["name"] for item in thin if item["coverage"] == 0.0]
    some = [item for item in thin if item["coverage"] > 0.0]
    lines = ["Months not covered in full"]
    lines += [f"{item['name']:<12}{100 * item['coverage']:5.1f} %" for item in some]
    if none:
        lines.append(wrapped(f"nothing of {listed(none)}"))
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
