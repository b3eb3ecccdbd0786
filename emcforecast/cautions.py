"""The cautions an answer may carry, as values in the order they are given."""

from enum import Enum


class Caution(Enum):
    """What a person must mind beyond the answer itself."""

    METER = "a forecast is no reading"
    FLOOR_LOAD = "weight is not capacity"
    LEANING = "leaning stack"
    TARP = "tarp to the ground"
    MOULD = "mould and dust"
    HEATER = "heaters and dehumidifiers"
    HEAT_TREATMENT = "heat treatment is certified by authority"
    STRUCTURAL = "structural use"
    LOGGER = "accuracy of a logger"
