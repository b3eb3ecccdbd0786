"""Units of NetCDF variables -> how to bring them to series units, decided once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from emcforecast._types import FloatArray
from emcforecast.conversions import TEMPERATURES, from_unit, plain_unit, split_rate
from emcforecast.errors import WeatherError
from emcforecast.language import _
from emcforecast.weather.repairs import Repair, RepairKind, repair


@dataclass(frozen=True)
class Conversion:
    """How values of one variable become series units.

    `unit`: as `from_unit` knows it; `factor`: times so much after that; `least`: the
    least value there can be, smaller ones taken as this; `trace`: smaller amounts are
    none.
    """

    unit: str
    factor: float = 1.0
    least: float | None = None
    trace: float | None = None

    @property
    def changes_nothing(self) -> bool:
        """Whether values are in series units as they stand."""
        if self.trace is not None or self.least is not None:
            return False
        two = np.array([1.0, 3.0])  # What is linear and keeps two numbers keeps all.
        return bool((self.apply(two) == two).all())

    def apply(self, values: FloatArray) -> FloatArray:
        """Return values in series units; elementwise, NaN stays NaN."""
        out: FloatArray = from_unit(values, self.unit)
        if self.factor != 1.0:
            out = out * self.factor
        if self.trace is not None:
            out = np.where(out < self.trace, 0.0, out)
        if self.least is not None:
            out = np.maximum(out, self.least)
        return out


_KNOWN = {
    **dict.fromkeys(
        ("vapour_pressure", "pressure"), (("pa", "hpa", "kpa"), "Pa, hPa or kPa")
    ),
    **dict.fromkeys(
        ("specific_humidity", "mixing_ratio"),
        (("kg/kg", "g/kg", "1", ""), "kg/kg or g/kg"),
    ),
}
"""Units of some quantities, and how to say them."""


def in_series_units(
    quantity: str,
    name: str,
    values: FloatArray,
    units: str,
    *,
    hours: float,
    monthly: bool,
) -> tuple[FloatArray, list[Repair]]:
    """Bring values of a NetCDF variable to series units, checking that they fit.

    `hours`: length of a step (h); `monthly`: monthly means, whose amounts are mostly
    per day. Returns °C, %, Pa, kg/kg, mm per step, m/s or W/m², and what was decided;
    all NaN where the unit is not known and the quantity can be done without.
    """
    conversion, decided = conversion_of(
        quantity, name, values, units, hours=hours, monthly=monthly
    )
    if conversion is None:
        return np.full_like(values, np.nan), decided
    return conversion.apply(values), decided


def conversion_of(
    quantity: str,
    name: str,
    values: FloatArray,
    units: str,
    *,
    hours: float,
    monthly: bool,
) -> tuple[Conversion | None, list[Repair]]:
    """Decide from its unit and a sample of values how a variable is converted.

    As `in_series_units`; None where the unit is not known and the quantity can be done
    without. Raises `WeatherError` where unit and values contradict one another.
    """
    key = plain_unit(units)
    known = values[np.isfinite(values)]
    middle = float(np.median(known)) if known.size else 0.0
    if quantity in (
        "air_temperature",
        "dew_point",
        "wet_bulb",
        "daily_maximum",
        "daily_minimum",
    ):
        return _temperature(name, key, units, middle)
    if quantity == "relative_humidity":
        return _humidity(name, key, units, known)
    if quantity == "precipitation":
        return _amount(name, units, hours, monthly)
    if quantity == "shortwave":
        return _sun(name, units, hours, monthly)
    allowed, said = _KNOWN.get(quantity, (("m/s", "km/h", "kn", "mph"), "m s-1"))
    if key not in allowed:
        raise _odd(name, units, said)
    plain_ratio = key in ("1", "")
    return Conversion("kg/kg" if plain_ratio else key), []


def _odd(name: str, units: str, allowed: str) -> WeatherError:
    return WeatherError(
        _(
            "variable {name} has units '{units}', which are not known for it; "
            "it should be in {allowed}",
            name=name,
            units=units,
            allowed=allowed,
        )
    )


_Decided = tuple[Conversion | None, list[Repair]]


def _unknown_unit(name: str, units: str) -> _Decided:
    kind = RepairKind.VARIABLE_UNIT_UNKNOWN
    return None, [repair(kind, variable=name, units=units)]


def _temperature(name: str, key: str, units: str, middle: float) -> _Decided:
    found: list[Repair] = []
    if key == "" and middle > 180.0:
        key = "k"
        found = [repair(RepairKind.VARIABLE_KELVIN, variable=name)]
    elif key not in TEMPERATURES:
        raise _odd(name, units, _("K, degC or degF"))
    if not -95.0 < from_unit(middle, key) < 62.0:
        raise WeatherError(
            _(
                "variable {name} says '{units}' but its values are about "
                "{middle:g}; correct its units",
                name=name,
                units=units,
                middle=middle,
            )
        )
    return Conversion(key), found


def _humidity(name: str, key: str, units: str, known: FloatArray) -> _Decided:
    top = float(np.quantile(known, 0.999)) if known.size else 100.0
    if key == "%":
        if 0.0 < top <= 1.0:
            raise WeatherError(
                _(
                    "variable {name} says % but never passes {top:.2g}; correct "
                    "its units (1 for a fraction)",
                    name=name,
                    top=top,
                )
            )
        return Conversion("%"), []
    if key in ("1", ""):
        if top <= 1.5:
            fraction = repair(RepairKind.VARIABLE_FRACTION, variable=name, top=top)
            return Conversion("1"), [fraction]
        return Conversion("%"), [
            repair(RepairKind.VARIABLE_PERCENT, variable=name, top=top)
        ]
    raise _odd(name, units, _("% or 1"))


def _amount(name: str, units: str, hours: float, monthly: bool) -> _Decided:
    depth, per = split_rate(units)
    if depth in ("mm/month", "mmmonth-1", "mmmon-1"):
        depth = "mm"
    elif depth not in ("mm", "cm", "in", "m"):
        return _unknown_unit(name, units)
    elif depth == "m" and per is None and monthly:
        per = 24.0
    # Packing leaves traces of rain that never fell.
    return Conversion(depth, 1.0 if per is None else hours / per, trace=1e-3), []


def _sun(name: str, units: str, hours: float, monthly: bool) -> _Decided:
    energy, per = split_rate(units)
    if energy == "w/m2":
        return Conversion(energy), []
    if energy in ("j/m2", "kj/m2", "mj/m2"):
        per = per or (24.0 if monthly else hours)
        return Conversion(energy, 1.0 / per, least=0.0), []
    return _unknown_unit(name, units)
