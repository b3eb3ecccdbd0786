"""The kinds of storage place and what each is taken to be until its owner says more.

Numbers are per m² of floor. Where they come from is told in docs/storage.md.
"""

from dataclasses import dataclass

from emcforecast.cautions import Caution
from emcforecast.storage.parameters import Value


@dataclass(frozen=True)
class Kind:
    """A kind of storage place with everything that follows from what it is.

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
    where : str
        Where boards are, in words, for a kind that nobody is "in".
    takes_green : bool
        Airy enough for green wood.
    open_air : bool
        With the air in which a deck will live.
    rained_on : bool
        Without any cover.
    heated : bool
        Kept warm for at least part of the year.
    upper_floor : bool
        On a floor over other rooms, which bears little.
    has_heater : bool
        A heater or dehumidifier runs in it beside the wood.
    has_floor : bool
        Boards stand on a built floor, not on the ground or a slab.
    """

    name: str
    setting: str
    title: str
    about: str
    defaults: dict[str, Value]
    where: str = ""
    takes_green: bool = False
    open_air: bool = False
    rained_on: bool = False
    heated: bool = False
    upper_floor: bool = False
    has_heater: bool = False
    has_floor: bool = False

    @property
    def cautions(self) -> frozenset[Caution]:
        """Cautions of the place itself, in every answer that names it."""
        carried = {
            Caution.FLOOR_LOAD: self.upper_floor,
            Caution.HEATER: self.has_heater,
        }
        return frozenset(caution for caution, applies in carried.items() if applies)

    @property
    def stack_cautions(self) -> frozenset[Caution]:
        """Cautions of a stack that stands there."""
        carried = {
            Caution.FLOOR_LOAD: self.has_floor,
            Caution.LEANING: self.open_air,
            Caution.TARP: self.rained_on,
        }
        return frozenset(caution for caution, applies in carried.items() if applies)


ROOFS: dict[str, dict[str, Value]] = {
    "board": {"roof_u": 2.0, "roof_sun": 0.75, "roof_sky": 0.45},
    "metal": {"roof_u": 3.5, "roof_sun": 0.65, "roof_sky": 0.3},
}
"""What the word for the roof changes."""

FLOORS: dict[str, dict[str, Value]] = {
    "slab": {"ground_u": 1.0, "ground_moisture": 0.0},
    "earth": {"ground_u": 2.0, "ground_moisture": 5.0},
}
"""What the word for the floor changes."""

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
            "night_cooling": "on",
            "board_sun": 0.6,
            "board_sky": 0.9,
            **_OPEN_STACK,
        },
        where="in the open, uncovered,",
        takes_green=True,
        open_air=True,
        rained_on=True,
    ),
    Kind(
        "stack-roof",
        "outdoor",
        "roofed stack",
        "a stickered stack in the open under its own roof; rain stays off",
        {"surface_transfer": 1.0, **_OPEN_STACK},
        where="in the open under its own roof",
        takes_green=True,
        open_air=True,
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
        where="under the open-sided shed",
        takes_green=True,
        open_air=True,
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
        upper_floor=True,
        has_floor=True,
    ),
    Kind(
        "barn",
        "shed",
        "closed unheated building",
        "a barn, garage or outbuilding with doors shut and no heating",
        {
            **_AIRY,
            "height": 2.7,
            "ventilation": 0.3,
            "wind_ventilation": 0.2,
            "roof": "board",
            **ROOFS["board"],
            "floor": "slab",
            **FLOORS["slab"],
            "wall_u": 2.0,
            "heat_capacity": 150.0,
            "buffer_exchange": 6.0,
            "buffer_store": 1.0,
            "dehumidify_to": "off",
            "dehumidifier_capacity": 5.0,
            "surface_transfer": 0.3,
        },
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
        upper_floor=True,
        has_floor=True,
    ),
    Kind(
        "house",
        "indoor",
        "heated house",
        "lived in, heated in winter, windows opened in summer, no cooling",
        {**_HOUSE, "window_opening": 1.0, "opens_from": 5.0, "airing": 5.0},
        heated=True,
        has_floor=True,
    ),
    Kind(
        "house-cooled",
        "indoor",
        "heated and cooled house",
        "lived in, heated in winter, cooled and dried by air conditioning in summer",
        {**_HOUSE, "cool_to": 24.0},
        heated=True,
        has_floor=True,
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
        heated=True,
        has_heater=True,
        has_floor=True,
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
        heated=True,
        has_heater=True,
        has_floor=True,
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
        heated=True,
        has_floor=True,
    ),
)

KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}
"""Every kind by name."""

SETTINGS: dict[str, str] = {"outdoor": "stack", "shed": "shed", "indoor": "house"}
"""The three settings of every report, and the kind each is until changed."""
