"""Every parameter a storage place can have: unit, range and meaning in plain words."""

from dataclasses import dataclass
from typing import Literal

Value = float | str
Spread = tuple[Literal["times", "plus"], float]


@dataclass(frozen=True)
class Parameter:
    """One thing about a storage place that its owner may change.

    Parameters
    ----------
    name : str
        As written in ``--setting shed=loft,name=value``.
    unit : str
        Unit of the number, or "" for a word or a share.
    low, high : float
        What is allowed; beyond it a value is refused.
    meaning : str
        In plain words.
    spread : tuple or None
        How far the truth likely lies from the stated value: ("times", 2) is half to
        double, ("plus", 1) one unit either way. None where the owner knows.
    words : tuple of str
        Words allowed beside (or, where `low` exceeds `high`, instead of) a number.
    whole : bool
        Whether only whole numbers are allowed.
    """

    name: str
    unit: str
    low: float
    high: float
    meaning: str
    spread: Spread | None = None
    words: tuple[str, ...] = ()
    whole: bool = False

    @property
    def is_word(self) -> bool:
        """Whether only words are allowed."""
        return self.low > self.high

    def likely(self, value: float) -> tuple[float, float]:
        """Range in which the truth likely lies when ``value`` is stated.

        Examples
        --------
        >>> PARAMETERS["ventilation"].likely(4.0)
        (2.0, 8.0)
        """
        if self.spread is None:
            return value, value
        how, size = self.spread
        ends = (value / size, value * size) if how == "times" else (
            value - size,
            value + size,
        )  # fmt: skip
        return max(self.low, ends[0]), min(self.high, ends[1])


def _words(name: str, words: tuple[str, ...], meaning: str) -> Parameter:
    return Parameter(name, "", 1.0, 0.0, meaning, None, words)


SWITCH = ("on", "off")
OFF = ("off",)

_ALL = (
    # How big, how airy.
    Parameter(
        "height", "m", 1.0, 15.0, "mean height of the air space", ("times", 1.15)
    ),
    Parameter(
        "ventilation", "1/h", 0.02, 200.0,
        "air changes an hour when the wind is still", ("times", 2.0),
    ),
    Parameter(
        "wind_ventilation", "1/h per m/s", 0.0, 100.0,
        "further air changes for each m/s of wind at the building", ("times", 2.0),
    ),
    Parameter(
        "lift_ventilation", "1/h per √K", 0.0, 100.0,
        "further air changes as warm air rises out, for the root of each K",
        ("times", 2.0),
    ),
    Parameter(
        "window_opening", "1/h", 0.0, 30.0,
        "further air changes when people open the windows in warm weather",
        ("times", 2.0),
    ),
    Parameter(
        "opens_from", "°C", -10.0, 35.0,
        "outdoor temperature at which people begin to open windows (fully 8 K above)",
        ("plus", 2.0),
    ),
    Parameter(
        "airing", "1/h", 0.0, 30.0,
        "further air changes when the room is hot and it is cooler outside",
        ("times", 2.0),
    ),
    Parameter(
        "airing_from", "°C", 10.0, 40.0,
        "room temperature at which people begin to air it (fully 3 K above)",
        ("plus", 1.0),
    ),
    Parameter(
        "fan", "1/h", 0.0, 100.0,
        "further air changes by a fan that runs while the air outside is drier than "
        "the wood inside",
        ("times", 1.5),
    ),
    # What lets heat through.
    _words("roof", ("board", "metal"), "what the roof is made of"),
    _words("floor", ("slab", "earth"), "what the floor is made of"),
    Parameter(
        "roof_u", "W/m²K", 0.0, 8.0, "heat the roof lets through", ("times", 1.5)
    ),
    Parameter(
        "wall_u", "W/m²K", 0.0, 8.0,
        "heat the walls let through, per m² of floor", ("times", 1.5),
    ),
    Parameter(
        "ground_u", "W/m²K", 0.0, 5.0, "heat the floor lets through", ("times", 1.5)
    ),
    Parameter(
        "room_u", "W/m²K", 0.0, 3.0,
        "heat let through from heated rooms below", ("times", 1.5),
    ),
    Parameter(
        "room_temperature", "°C", 5.0, 35.0,
        "temperature of the heated rooms below", ("plus", 1.0),
    ),
    Parameter(
        "heat_capacity", "kJ/m²K", 5.0, 1000.0,
        "heat the building itself stores, per m² of floor", ("times", 1.5),
    ),
    Parameter(
        "roof_sun", "", 0.0, 1.0,
        "share of the sun the roof takes up (dark 0.9, light 0.4)", ("plus", 0.1),
    ),
    Parameter(
        "roof_sky", "", 0.0, 1.0,
        "how freely the roof loses heat to the night sky (bare metal 0.25, most 0.9)",
        ("plus", 0.1),
    ),
    Parameter(
        "window_area", "m²/m²", 0.0, 2.0,
        "unshaded window area per m² of floor, as far as sun comes in",
        ("times", 1.5),
    ),
    # What gives heat and moisture.
    Parameter(
        "heat_gain", "W/m²", 0.0, 100.0,
        "heat from people, lamps, machines or rooms below", ("times", 1.5),
    ),
    Parameter(
        "moisture_gain", "g/h per m²", 0.0, 50.0,
        "water given off by people, plants and washing", ("times", 1.5),
    ),
    Parameter(
        "ground_moisture", "1e-10 kg/m²sPa", 0.0, 100.0,
        "how freely damp ground gives off water (0 for a sealed floor)",
        ("times", 2.0),
    ),
    Parameter(
        "buffer_exchange", "1e-8 kg/m²sPa", 0.0, 100.0,
        "how freely wood and other fibres in the place take up water from the air",
        ("times", 2.0),
    ),
    Parameter(
        "buffer_store", "kg/m²", 0.01, 100.0,
        "water those fibres hold between bone-dry and saturated air",
        ("times", 2.0),
    ),
    # Heating, cooling, humidity.
    Parameter(
        "heat_to", "°C", -20.0, 40.0,
        "the heating keeps this temperature", ("plus", 1.0), OFF,
    ),
    Parameter(
        "heat_to_summer", "°C", -20.0, 40.0,
        "the same in the warm season, when it differs", ("plus", 1.0), ("same", "off"),
    ),
    Parameter("heat_power", "W/m²", 0.0, 1000.0, "the most the heating gives"),
    Parameter(
        "cool_to", "°C", 5.0, 40.0,
        "the cooling keeps this temperature", ("plus", 1.0), OFF,
    ),
    Parameter("cool_power", "W/m²", 0.0, 1000.0, "the most the cooling takes"),
    Parameter(
        "coil_air", "1/h", 0.0, 30.0,
        "air changes an hour over the cold coil at full cooling", ("times", 1.5),
    ),
    Parameter(
        "coil_temperature", "°C", 0.0, 25.0,
        "temperature of the cold coil", ("plus", 2.0),
    ),
    Parameter(
        "humidify_to", "% RH", 1.0, 95.0, "the humidifier keeps this humidity",
        None, OFF,
    ),
    Parameter(
        "humidifier_capacity", "g/h per m²", 0.0, 100.0,
        "the most the humidifier gives",
    ),
    Parameter(
        "dehumidify_to", "% RH", 5.0, 100.0, "the dehumidifier keeps this humidity",
        None, OFF,
    ),
    Parameter(
        "dehumidifier_capacity", "g/h per m²", 0.0, 200.0,
        "the most the dehumidifier takes",
    ),
    Parameter(
        "used_from", "month", 1.0, 12.0,
        "first month (1 to 12) the place is in use: heated, lived in", None, (), True,
    ),
    Parameter("used_to", "month", 1.0, 12.0, "last month it is in use", None, (), True),
    Parameter(
        "heat_away", "°C", -20.0, 40.0,
        "the heating keeps this temperature outside those months", None, OFF,
    ),
    # The stack itself.
    Parameter(
        "surface_transfer", "mm/s", 0.05, 20.0,
        "how fast air carries moisture from the boards (still room 0.3, open yard 1)",
        ("times", 1.5),
    ),
    _words("rain", SWITCH, "whether rain wets the stack"),
    Parameter(
        "rain_film", "kg/m²", 0.0, 1.0,
        "water a wet surface holds before rain runs off", ("times", 2.0),
    ),
    _words(
        "course", ("whole", "top", "bottom", "single"),
        "which boards are meant: the stack as a whole, its top or its bottom course, "
        "or one course lying by itself",
    ),
    Parameter(
        "wet_share", "", 0.0, 1.0,
        "share of these boards' faces that rain reaches past the boards above",
        ("plus", 0.25),
    ),
    _words("night_cooling", SWITCH, "whether top boards see the sun and the night sky"),
    Parameter(
        "board_sun", "", 0.0, 1.0,
        "share of the sun a top board takes up", ("plus", 0.1),
    ),
    Parameter(
        "board_sky", "", 0.0, 1.0,
        "how freely a top board loses heat to the night sky", ("plus", 0.05),
    ),
    _words("ground_damp", SWITCH, "whether damp ground wets the air of bottom boards"),
    Parameter(
        "ground_share", "", 0.0, 0.5,
        "share of ground air in the air of the bottom course", ("times", 2.0),
    ),
)  # fmt: skip

PARAMETERS: dict[str, Parameter] = {p.name: p for p in _ALL}
"""Every parameter by name."""
