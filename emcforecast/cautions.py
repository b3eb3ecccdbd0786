"""What could hurt someone: the cautions, by topic; `emcforecast.report` says them."""

from enum import Enum


class Caution(Enum):
    """A topic of caution, in the order in which they are printed."""

    METER = "meter"
    WEIGHT = "weight"
    LEANING = "leaning"
    TARP = "tarp"
    MOULD = "mould"
    HEATER = "heater"
    HEAT_TREATMENT = "heat treatment"
    STRUCTURAL = "structural"
    LOGGER = "logger"
