"""What a number may be: the one table of bounds, lowest and highest, both allowed."""

Bounds = tuple[float, float]

PLACE: dict[str, Bounds] = {
    "latitude": (-90, 90),
    "longitude": (-180, 360),
    "elevation": (-500, 9000),
    "utc_offset": (-14, 14),
}
"""° north, ° east, m above the sea, hours ahead of UTC."""

WEATHER: dict[str, Bounds] = {
    "air_temperature": (-90.0, 60.0),
    "relative_humidity": (0.1, 105.0),
    "precipitation": (0.0, 400.0),
    "wind_speed": (0.0, 75.0),
    "shortwave": (-20.0, 1500.0),
}
"""What measured weather can be, °C, %, mm an hour, m/s, W/m²; other values are set
missing and counted."""
MOST_RAIN: dict[str, float] = {"hour": 400.0, "day": 2000.0, "month": 10000.0}
"""mm; above the most ever measured in so long (from memory: about 400 in an hour,
1,825 in a day, 9,300 in a month)."""

WOOD_TEMPERATURE: Bounds = (-60.0, 160.0)
"""°C, of wood and of the air it is asked about."""
HUMIDITY: Bounds = (-0.5, 100.5)
"""% RH; sensors and rounding go this far beyond 0 and 100, which is held."""
MOISTURE: Bounds = (0.0, 600.0)
"""% of oven-dry mass; the lightest woods hold no more water."""
METER_READING: Bounds = (0.0, 200.0)
"""What a meter can show, % MC."""
TARGET: Bounds = (3, 30)
"""Moisture wood may be asked to come to rest at, % of oven-dry mass."""
DRYING_TARGET: Bounds = (3, 60)
"""Moisture drying may be asked to pass, % of oven-dry mass."""


def within(value: float, bounds: Bounds) -> bool:
    """Tell whether a number is allowed; NaN is not."""
    return bounds[0] <= value <= bounds[1]


def spoken(bounds: Bounds) -> str:
    """Return bounds for a message.

    Examples
    --------
    >>> spoken(TARGET)
    '3 to 30'
    """
    return f"{bounds[0]:g} to {bounds[1]:g}"
