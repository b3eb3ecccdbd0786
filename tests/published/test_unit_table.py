"""The table of units against a general library of units."""

import pint
import pytest
from outside import PublishedCheck, Record

from emcforecast.conversions import FACTORS, TEMPERATURES, from_unit, split_rate

SOURCE = PublishedCheck(
    what="every unit that files and archives may state",
    source="pint, a general library of units (NIST and SI definitions)",
    provenance="retrieved",
    kind="foretold",
    tolerance="1e-6 of the value",
    why="units are defined, not measured; the conventional inHg is rounded",
)

REGISTRY = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
#: How the library writes a unit, and the program's own unit of its quantity.
ELSEWHERE = {
    "%": ("percent", "percent"),
    "1": ("dimensionless", "percent"),
    "kn": ("knot", "m/s"),
    "pa": ("Pa", "Pa"),
    "hpa": ("hPa", "Pa"),
    "kpa": ("kPa", "Pa"),
    "mmhg": ("mmHg", "Pa"),
    "inhg": ("inHg", "Pa"),
    "in": ("inch", "mm"),
    "c": ("degC", "degC"),
    "f": ("degF", "degC"),
    "k": ("kelvin", "degC"),
    "kg/m3": ("kg/m**3", "kg/m**3"),
    "g/m3": ("g/m**3", "kg/m**3"),
    "w/m2": ("W/m**2", "W/m**2"),
    "j/cm2": ("J/cm**2", "W*hour/m**2"),
    **{
        f"{p.lower()}{e.lower()}/m2": (
            f"{p}{e.replace('Wh', 'W*hour')}/m**2",
            "W*hour/m**2",
        )
        for p, e in [("", "Wh"), ("k", "Wh"), ("", "J"), ("k", "J"), ("M", "J")]
    },
}
OWN = {"m/s": "m/s", "km/h": "m/s", "mph": "m/s", "kg/kg": "", "g/kg": ""}


@pytest.mark.parametrize("unit", [*FACTORS, *TEMPERATURES])
def test_a_unit_is_what_the_library_says(unit: str, record_reached: Record) -> None:
    theirs, ours = ELSEWHERE.get(unit, (unit, OWN.get(unit, "mm")))
    due = REGISTRY.Quantity(37.5, theirs).to(ours or "dimensionless").magnitude
    off = abs(from_unit(37.5, unit) / due - 1.0)
    record_reached("share of the value", round(off, 9))
    assert off < 1e-6


@pytest.mark.parametrize(
    ("written", "theirs", "ours"),
    [
        ("mm day-1", "mm/day", "mm/hour"),
        ("kg m-2 s-1", "mm/second", "mm/hour"),
        ("m s**-1", "m/second", "mm/hour"),
        ("MJ/m^2/day", "MJ/m**2/day", "W/m**2"),
        ("kW-hr/m^2/day", "kW*hour/m**2/day", "W/m**2"),
        ("J m-2 day-1", "J/m**2/day", "W/m**2"),
    ],
)
def test_a_rate_is_what_the_library_says(
    written: str, theirs: str, ours: str, record_reached: Record
) -> None:
    amount, hours = split_rate(written)
    assert hours is not None
    due = REGISTRY.Quantity(2.5, theirs).to(ours).magnitude
    off = abs(from_unit(2.5, amount) / hours / due - 1.0)
    record_reached("share of the value", round(off, 9))
    assert off < 1e-6
