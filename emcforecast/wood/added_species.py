"""A person's own species, checked before anything is computed with it."""

from collections.abc import Mapping

from emcforecast.errors import SpeciesError
from emcforecast.language import _, did_you_mean
from emcforecast.wood.species import NUMBERS, Species

_ALLOWED = ("scientific", "kind", "basic_gravity", *NUMBERS, "drying_factor")
_LIMITS = {
    "basic_gravity": (0.1, 1.3),
    "gravity_12": (0.1, 1.4),
    "green_heartwood": (5.0, 600.0),
    "green_sapwood": (5.0, 600.0),
    "shrink_radial": (0.1, 20.0),
    "shrink_tangential": (0.1, 30.0),
    "shrink_volumetric": (0.1, 40.0),
    "coefficient_radial": (0.0001, 0.01),
    "coefficient_tangential": (0.0001, 0.01),
    "drying_factor": (0.01, 10.0),
}


def species_from_mapping(name: str, values: Mapping[str, object]) -> Species:
    """Make a person's own species from the values of the yard file.

    Parameters
    ----------
    name : str
        What the person calls it.
    values : mapping
        ``basic_gravity`` is needed; ``kind`` ("hardwood" or "softwood"),
        ``scientific``, ``green_heartwood``, ``green_sapwood``, ``shrink_radial``,
        ``shrink_tangential``, ``shrink_volumetric`` (%), ``gravity_12``,
        ``coefficient_radial``, ``coefficient_tangential`` (per % MC) and
        ``drying_factor`` may be given.

    Raises
    ------
    SpeciesError
        When a value is missing, unknown, not a number or out of range.

    Examples
    --------
    >>> species_from_mapping("apple", {"basic_gravity": 0.61}).kind
    'hardwood'
    """
    for given in values:
        if given not in _ALLOWED:
            raise SpeciesError(
                _(
                    "species '{name}': '{given}' is not a property.{near} "
                    "Allowed: {allowed}.",
                    name=name,
                    given=given,
                    near=did_you_mean(given, _ALLOWED),
                    allowed=", ".join(_ALLOWED),
                )
            )
    if "basic_gravity" not in values:
        raise SpeciesError(
            _(
                "species '{name}' needs basic_gravity (ovendry weight on "
                "green volume, 0.3 to 0.8 for most woods). Add it in the "
                "yard file.",
                name=name,
            )
        )
    kind = values.get("kind", "hardwood")
    if kind not in ("hardwood", "softwood"):
        raise SpeciesError(
            _(
                "species '{name}': kind {kind!r} is not known. Write "
                "hardwood or softwood.",
                name=name,
                kind=kind,
            )
        )
    numbers = {
        field: _own_number(name, field, values[field])
        for field in _LIMITS
        if field in values
    }
    wood = Species(
        name=name,
        scientific=str(values.get("scientific", "")),
        kind=str(kind),
        region="added",
        sources=dict.fromkeys(numbers, "your yard file"),
        **numbers,
    )
    for field in ("green_heartwood", "green_sapwood"):
        if numbers.get(field, 0.0) > wood.most_moisture + 10.0:
            raise SpeciesError(
                _(
                    "species '{name}': {field} = {numbers:g} % is more than wood "
                    "of basic_gravity {basic_gravity:g} can hold, about "
                    "{most_moisture:.0f} %. Correct one of them in the yard file.",
                    name=name,
                    field=field,
                    numbers=numbers[field],
                    basic_gravity=wood.basic_gravity,
                    most_moisture=wood.most_moisture,
                )
            )
    return wood


def _own_number(name: str, field: str, value: object) -> float:
    low, high = _LIMITS[field]
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not low <= float(str(value)) <= high:
        raise SpeciesError(
            _(
                "species '{name}': {field} = {value!r} is not a number from "
                "{low:g} to {high:g}. Correct it in the yard file.",
                name=name,
                field=field,
                value=value,
                low=low,
                high=high,
            )
        )
    return float(str(value))
