"""The published corrections of a meter reading: numbers in, numbers out."""

import math

CALIBRATED_AT = 21.1
"""Wood temperature most resistance meters are made for: 70 °F, in °C."""

MC_PER_STEP, STEP_C = 0.5, 5.6
"""A resistance reading shifts by 0.5 % MC for every 5.6 °C (10 °F)."""


def temperature_corrected(
    reading: float, wood_temperature: float, calibrated_at: float = CALIBRATED_AT
) -> float:
    """Correct a resistance reading by the handbook's rule.

    Parameters
    ----------
    reading : float
        What the meter showed, % MC.
    wood_temperature, calibrated_at : float
        Of the wood now, and that the meter is made for, °C.

    Returns
    -------
    float
        Moisture content, %.

    Notes
    -----
    0.5 % MC for every 5.6 °C: added when the wood is colder, taken off when warmer.

    References
    ----------
    Wood Handbook, FPL-GTR-190, ch. 13 (electrical methods).

    Examples
    --------
    >>> round(temperature_corrected(12.0, -1.1, 21.1), 1)
    14.0
    """
    return reading + MC_PER_STEP * (calibrated_at - wood_temperature) / STEP_C


def fully_corrected(
    reading: float, wood_temperature: float, slope: float = 1.0, offset: float = 0.0
) -> float:
    """Correct a resistance reading for temperature and species in one equation.

    Parameters
    ----------
    reading : float
        On the Douglas-fir scale, % MC.
    wood_temperature : float
        Of the wood, °C.
    slope, offset : float
        The species coefficients a and b; 1 and 0 for the reference scale.

    Returns
    -------
    float
        Moisture content, %.

    Notes
    -----
    MC = [(R + 0.567 - 0.0260 x + 0.000051 x²) / (0.881 · 1.0056^x) - b] / a. It is
    about zero near 23 °C and, unlike the rule, grows with the reading.

    References
    ----------
    Pfaff and Garrahan (1986), Forest Products Journal 36(3):28-30; the constants
    are from memory and agree with the handbook's rule near its middle.

    Examples
    --------
    >>> round(fully_corrected(12.0, 0.0), 2)
    14.26
    """
    scaled = (
        reading + 0.567 - 0.0260 * wood_temperature + 0.000051 * wood_temperature**2
    )
    return (scaled / (0.881 * math.pow(1.0056, wood_temperature)) - offset) / slope


def gravity_corrected(reading: float, set_gravity: float, wood_gravity: float) -> float:
    """Correct a dielectric reading for a wood other than the meter was set to.

    Notes
    -----
    Denser wood reads higher at the same moisture, about in proportion: the reading
    times set over true specific gravity, both on the same basis. An engineering
    assumption, good to about 1 % MC for gravities within a fifth of each other.

    Examples
    --------
    >>> gravity_corrected(12.0, 0.50, 0.60)
    10.0
    """
    return reading * set_gravity / wood_gravity
