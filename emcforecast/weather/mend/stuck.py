"""Sensors that stand still: told, not mended."""

from __future__ import annotations

import numpy as np

from emcforecast._types import FloatArray

LONGEST = {
    "air_temperature": (7 * 24, "temperature", "°C"),
    "relative_humidity": (7 * 24, "relative humidity", "%"),
}
"""Hours on end that a reading may stay the same; real air hardly does so for a day."""
SATURATED = 14 * 24
"""The same for 100 %, where damp sensors and fog stay."""


def stuck_notes(variables: dict[str, FloatArray]) -> list[str]:
    """Say where a reading stays the same for longer than air does.

    Parameters
    ----------
    variables : dict of str to ndarray, shape (n,)
        Hourly values in series units, NaN where missing.

    Returns
    -------
    list of str
        A sentence for each of temperature and humidity that stands still.

    Examples
    --------
    >>> stuck_notes({"air_temperature": np.full(200, 21.5)})[0][:58]
    'look at the file: temperature stands at 21.5 °C for 200 ho'
    """
    notes = []
    for name, (most, words, unit) in LONGEST.items():
        if name not in variables:
            continue
        values = variables[name]
        change = np.flatnonzero(np.diff(values) != 0.0) + 1
        begins = np.concatenate(([0], change))
        length = np.diff(np.concatenate((begins, [values.size])))
        level = values[begins]
        full = (name == "relative_humidity") & (level >= 100.0)
        length = np.where(full & (length <= SATURATED), 0, length)
        longest = int(np.argmax(length))
        if length[longest] > most:
            notes.append(
                f"look at the file: {words} stands at {level[longest]:g} {unit} for "
                f"{length[longest]} hours on end: is the sensor stuck?"
            )
    return notes
