"""The words of readings against the forecast: where they were, what they moved."""

from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.update import Update
from emcforecast.ensemble.weights import Outlier


def update_sentence(update: Update, mc: float) -> str:
    """Say what the last reading was and how far the readings moved a date.

    Parameters
    ----------
    update : Update
        Of a stack.
    mc : float
        Moisture content whose date is looked at, %.
    """
    if not update.used:
        return "no reading was used; the forecast stays"
    moved = moved_words(
        update.moved_days(mc),
        "it is not reached by half of them, so no date moves",
    )
    return f"{position_words(update)}{moved}"


def position_words(update: Update) -> str:
    """Say where the last reading was, up to what all of them together did."""
    count, above = len(update.used), update.above
    ones = "one" if count == 2 else "ones"
    led = "the forecast" if count == 1 else f"what the earlier {ones} led to expect"
    if above is None:
        said = "your reading was wet, above 30, no number"
    elif abs(above) < 0.05:
        said = f"your reading was as {'forecast' if count == 1 else 'expected'}"
    else:
        side = "above" if above > 0.0 else "below"
        said = f"your reading was {abs(above):.1f} {side} {led}"
    if count == 1:
        return f"{said}; "
    return f"{said}; {'both' if count == 2 else f'all {count}'} together: "


def moved_words(days: int | None, otherwise: str) -> str:
    """Say how far a date moved.

    Parameters
    ----------
    days : int or None
        Later is above 0.
    otherwise : str
        What to say where there is no date.

    Examples
    --------
    >>> moved_words(-9, "")
    'the forecast moved 9 days earlier'
    """
    if days is None:
        return otherwise
    if days == 0:
        return "the forecast stays"
    span = "a day" if abs(days) == 1 else f"{abs(days)} days"
    return f"the forecast moved {span} {'later' if days > 0 else 'earlier'}"


def outlier_words(outlier: Outlier) -> str:
    """Say what contradicts a reading, and what to do."""
    reading = outlier.reading
    what = (
        "wet, above 30," if reading.wet or reading.mc is None else f"{reading.mc:.1f} %"
    )
    return (
        f"{what} on {reading.day}: the weather and the other readings leave room for "
        f"{outlier.low:.0f} to {outlier.high:.0f} %. It is kept, not used; read "
        "another board, or check the date, the species setting and the battery"
    )


def air_warnings(air: StorageAir) -> list[str]:
    """Say where a long record left room for too few draws of each place."""
    if not air.too_few_draws:
        return []
    return [
        f"So long a record leaves room for {air.draws} of {air.asked_draws} draws of "
        "each place: what is not known of a place counts too little in the ranges. "
        "Fewer years mend that."
    ]
