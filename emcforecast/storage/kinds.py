"""The kinds of storage place and what each is taken to be until its owner says more.

Numbers are per m² of floor. Where they come from is told in docs/storage.md.
"""

from dataclasses import dataclass

from emcforecast.cautions import Caution
from emcforecast.storage.parameters import Value


@dataclass(frozen=True)
class Kind:
    """A kind of storage place.

    Parameters
    ----------
    name : str
        As written in ``--setting shed=name``.
    setting : str
        The setting it usually stands for: outdoor, shed or indoor.
    title : str
        In words, to print.
    about : str
        What it stands for, in one sentence.
    defaults : dict of str to float or str
        Its parameters; it has no others.
    covered : bool
        Whether something keeps the rain off.
    open_air : bool
        Whether its air is that in which a deck lives.
    takes_green : bool
        Whether green wood may be stacked there.
    cautions : frozenset of Caution
        What it calls for whenever it is named.
    stack_cautions : frozenset of Caution
        What it calls for besides where a stack is put there.
    """

    name: str
    setting: str
    title: str
    about: str
    defaults: dict[str, Value]
    covered: bool = True
    open_air: bool = False
    takes_green: bool = False
    cautions: frozenset[Caution] = frozenset()
    stack_cautions: frozenset[Caution] = frozenset()


ROOFS: dict[str, dict[str, Value]] = {
    "board": {"roof_u": 2.0, "roof_sun": 0.75, "roof_sky": 0.55},
    "metal": {"roof_u": 3.5, "roof_sun": 0.65, "roof_sky": 0.3},
}
"""What the word for the roof changes."""

FLOORS: dict[str, dict[str, Value]] = {
    "slab": {"ground_u": 1.0, "ground_moisture": 0.0},
    "earth": {"ground_u": 2.0, "ground_moisture": 5.0},
}
"""What the word for the floor changes."""

COURSES: dict[str, dict[str, Value]] = {
    "whole": {"wet_share": 0.5},
    "top": {"wet_share": 1.0},
    "bottom": {"wet_share": 0.5},
    "single": {"wet_share": 1.0, "surface_transfer": 8.0},
}
"""What the word for the course changes, where the kind has it at all."""

_OPEN_STACK: dict[str, Value] = {
    "course": "whole",
    "ground_damp": "on",
    "ground_share": 0.05,
}
_AIRY: dict[str, Value] = {
    "roof_sky": 0.3,
    "roof_sun": 0.7,
    "ground_u": 0.0,
    "heat_gain": 0.0,
    "ground_moisture": 0.0,
    "lift_ventilation": 0.0,
}
_ROOM: dict[str, Value] = {
    "window_opening": 0.0,
    "opens_from": 12.0,
    "airing": 0.0,
    "airing_from": 25.0,
    "roof_sun": 0.85,
    "roof_sky": 0.9,
    "window_area": 0.0,
    "heat_gain": 0.0,
    "moisture_gain": 0.0,
    "ground_moisture": 0.0,
    "heat_to": "off",
    "heat_to_summer": "same",
    "heat_power": 100.0,
    "cool_to": "off",
    "cool_power": 100.0,
    "coil_air": 5.0,
    "coil_temperature": 11.0,
    "humidify_to": "off",
    "humidifier_capacity": 5.0,
    "dehumidify_to": "off",
    "dehumidifier_capacity": 10.0,
    "used_from": 1.0,
    "used_to": 12.0,
    "heat_away": "off",
}
_BARN: dict[str, Value] = {
    **_AIRY,
    "height": 2.7,
    "ventilation": 1.0,
    "wind_ventilation": 1.1,
    "fan": 0.0,
    "roof": "board",
    **ROOFS["board"],
    "floor": "slab",
    **FLOORS["slab"],
    "wall_u": 3.0,
    "heat_capacity": 190.0,
    "moisture_gain": 0.0,
    "buffer_exchange": 6.0,
    "buffer_store": 4.0,
    "dehumidify_to": "off",
    "dehumidifier_capacity": 5.0,
    "surface_transfer": 0.3,
}
_HOUSE: dict[str, Value] = {
    **_ROOM,
    "height": 2.5,
    "ventilation": 0.25,
    "wind_ventilation": 0.04,
    "roof_u": 0.25,
    "wall_u": 1.2,
    "ground_u": 0.2,
    "window_area": 0.04,
    "heat_capacity": 200.0,
    "heat_gain": 6.0,
    "moisture_gain": 2.5,
    "buffer_exchange": 2.5,
    "buffer_store": 3.0,
    "heat_to": 21.5,
    "surface_transfer": 0.4,
}

_OPEN_STACK_CAUTIONS = frozenset({Caution.LEANING})
_ON_A_FLOOR = frozenset({Caution.WEIGHT})
_HEATED_BY_A_HEATER = frozenset({Caution.HEATER})

_ALL = (
    Kind(
        "stack",
        "outdoor",
        "uncovered stack",
        "a stickered stack in the open with nothing over it; rain counts",
        {
            "surface_transfer": 1.0,
            "rain": "on",
            "rain_film": 0.10,
            **COURSES["whole"],
            "night_cooling": "on",
            "board_sun": 0.6,
            "board_sky": 0.9,
            **_OPEN_STACK,
        },
        covered=False,
        open_air=True,
        takes_green=True,
        stack_cautions=_OPEN_STACK_CAUTIONS | {Caution.TARP},
    ),
    Kind(
        "stack-roof",
        "outdoor",
        "roofed stack",
        "a stickered stack in the open under its own roof; rain stays off",
        {"surface_transfer": 1.0, **_OPEN_STACK},
        open_air=True,
        takes_green=True,
        stack_cautions=_OPEN_STACK_CAUTIONS,
    ),
    Kind(
        "shed",
        "shed",
        "open-sided shed",
        "a roof on posts, wind goes through",
        {
            **_AIRY,
            "height": 3.5,
            "ventilation": 60.0,
            "wind_ventilation": 60.0,
            "lift_ventilation": 20.0,
            "roof_u": 4.4,
            "wall_u": 0.2,
            "heat_capacity": 40.0,
            "buffer_exchange": 4.0,
            "buffer_store": 0.5,
            "surface_transfer": 0.7,
            **_OPEN_STACK,
        },
        open_air=True,
        takes_green=True,
        stack_cautions=_OPEN_STACK_CAUTIONS,
    ),
    Kind(
        "loft",
        "shed",
        "ventilated barn loft",
        "under the roof of an unheated barn, slats or gaps let air through",
        {
            **_AIRY,
            "height": 2.0,
            "ventilation": 5.0,
            "wind_ventilation": 1.0,
            "lift_ventilation": 1.5,
            "roof": "board",
            **ROOFS["board"],
            "wall_u": 1.0,
            "heat_capacity": 60.0,
            "buffer_exchange": 10.0,
            "buffer_store": 0.8,
            "surface_transfer": 0.4,
        },
        takes_green=True,
        cautions=_ON_A_FLOOR,
    ),
    Kind(
        "barn",
        "shed",
        "closed unheated building",
        "a barn, garage or outbuilding with doors shut and no heating",
        _BARN,
    ),
    Kind(
        "barn-fan",
        "shed",
        "closed building with a fan",
        "the same, aired by a fan that runs only while the air outside is the drier",
        {**_BARN, "fan": 10.0, "surface_transfer": 0.5},
    ),
    Kind(
        "basement",
        "shed",
        "basement",
        "below a heated house, not heated itself, walls and floor in the ground",
        {
            **_AIRY,
            "height": 2.2,
            "ventilation": 0.3,
            "wind_ventilation": 0.05,
            "fan": 0.0,
            "roof_u": 0.0,
            "wall_u": 0.4,
            "ground_u": 0.9,
            "room_u": 1.0,
            "room_temperature": 22.0,
            "heat_capacity": 300.0,
            "heat_gain": 2.0,
            "moisture_gain": 0.3,
            "ground_moisture": 0.5,
            "buffer_exchange": 4.0,
            "buffer_store": 2.0,
            "dehumidify_to": "off",
            "dehumidifier_capacity": 10.0,
            "surface_transfer": 0.3,
        },
        cautions=frozenset({Caution.MOULD}),
    ),
    Kind(
        "solar-shed",
        "shed",
        "solar-heated drying shed",
        "small and insulated under a glazed roof; vents and fans by day, shut at night",
        {
            "height": 2.0,
            "ventilation": 0.5,
            "wind_ventilation": 0.2,
            "airing": 8.0,
            "airing_from": 30.0,
            "roof_u": 5.0,
            "roof_sun": 0.05,
            "roof_sky": 0.85,
            "wall_u": 1.5,
            "ground_u": 0.4,
            "window_area": 0.5,
            "heat_capacity": 150.0,
            "heat_gain": 0.0,
            "moisture_gain": 0.0,
            "buffer_exchange": 6.0,
            "buffer_store": 4.0,
            "surface_transfer": 1.5,
        },
        takes_green=True,
    ),
    Kind(
        "attic",
        "shed",
        "roof space over heated rooms",
        "a ventilated attic above the insulation of a heated house",
        {
            **_AIRY,
            "height": 2.0,
            "ventilation": 6.0,
            "wind_ventilation": 0.5,
            "roof_u": 2.6,
            "roof_sun": 0.78,
            "roof_sky": 0.6,
            "wall_u": 1.0,
            "room_u": 0.3,
            "room_temperature": 21.0,
            "heat_capacity": 60.0,
            "buffer_exchange": 1.6,
            "buffer_store": 0.4,
            "surface_transfer": 0.4,
        },
        cautions=_ON_A_FLOOR,
    ),
    Kind(
        "house",
        "indoor",
        "heated house",
        "lived in, heated in winter, windows opened in summer, no cooling",
        {**_HOUSE, "window_opening": 1.0, "opens_from": 5.0, "airing": 5.0},
        stack_cautions=_ON_A_FLOOR,
    ),
    Kind(
        "house-cooled",
        "indoor",
        "heated and cooled house",
        "lived in, heated in winter, cooled and dried by air conditioning in summer",
        {**_HOUSE, "cool_to": 24.0},
        stack_cautions=_ON_A_FLOOR,
    ),
    Kind(
        "workshop",
        "indoor",
        "part-heated workshop",
        "kept above a low temperature, warmer while people work",
        {
            **_ROOM,
            "height": 3.0,
            "ventilation": 0.6,
            "wind_ventilation": 0.08,
            "window_opening": 1.0,
            "airing": 5.0,
            "window_area": 0.02,
            "roof_u": 0.6,
            "wall_u": 1.5,
            "ground_u": 0.4,
            "heat_capacity": 150.0,
            "roof_sun": 0.8,
            "heat_gain": 1.0,
            "moisture_gain": 0.3,
            "buffer_exchange": 6.0,
            "buffer_store": 1.0,
            "heat_to": 13.0,
            "surface_transfer": 0.4,
        },
        cautions=_HEATED_BY_A_HEATER,
        stack_cautions=_ON_A_FLOOR,
    ),
    Kind(
        "dry-room",
        "indoor",
        "dehumidified room",
        "a small tight room with heating and a dehumidifier",
        {
            **_ROOM,
            "height": 2.5,
            "ventilation": 0.2,
            "wind_ventilation": 0.0,
            "roof_u": 0.2,
            "wall_u": 0.8,
            "ground_u": 0.2,
            "heat_capacity": 200.0,
            "roof_sun": 0.7,
            "heat_gain": 4.0,
            "moisture_gain": 0.3,
            "buffer_exchange": 6.0,
            "buffer_store": 1.0,
            "heat_to": 20.5,
            "cool_to": 26.0,
            "coil_air": 0.0,
            "dehumidify_to": 45.0,
            "surface_transfer": 0.5,
        },
        cautions=_HEATED_BY_A_HEATER,
        stack_cautions=_ON_A_FLOOR,
    ),
    Kind(
        "cabin",
        "indoor",
        "seasonal cabin",
        "lived in for part of the year, cold and shut for the rest",
        {
            **_ROOM,
            "height": 2.4,
            "ventilation": 0.3,
            "wind_ventilation": 0.08,
            "window_opening": 1.0,
            "opens_from": 5.0,
            "airing": 5.0,
            "window_area": 0.03,
            "roof_u": 0.4,
            "wall_u": 1.5,
            "ground_u": 0.5,
            "heat_capacity": 80.0,
            "roof_sun": 0.8,
            "heat_gain": 5.0,
            "moisture_gain": 1.2,
            "buffer_exchange": 6.0,
            "buffer_store": 1.0,
            "heat_to": 19.0,
            "used_from": 5.0,
            "used_to": 9.0,
            "surface_transfer": 0.4,
        },
        stack_cautions=_ON_A_FLOOR,
    ),
)

KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}
"""Every kind by name."""

SETTINGS: dict[str, str] = {"outdoor": "stack", "shed": "shed", "indoor": "house"}
"""The three settings of every report, and the kind each is until changed."""
