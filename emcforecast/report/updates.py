"""The words of readings against the forecast: where they were, what they moved."""

from emcforecast.ensemble.air import StorageAir
from emcforecast.ensemble.update import Update
from emcforecast.ensemble.weights import Outlier
from emcforecast.language import N_, _, n_


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
        return _("no reading was used; the forecast stays")
    moved = moved_words(
        update.moved_days(mc),
        _("it is not reached by half of them, so no date moves"),
    )
    return effect_sentence(update, moved)


def effect_sentence(update: Update, moved: str) -> str:
    """Say where the last reading was, and what all of them together did.

    Parameters
    ----------
    update : Update
        Of a stack.
    moved : str
        What became of the forecast, as `moved_words` says it.
    """
    count = len(update.used)
    said = _position(update)
    if count == 1:
        return _("{reading}; {effect}", reading=said, effect=moved)
    if count == 2:
        return _("{reading}; both together: {effect}", reading=said, effect=moved)
    return _(
        "{reading}; all {count} together: {effect}",
        reading=said,
        count=count,
        effect=moved,
    )


def _position(update: Update) -> str:
    """Say where the last reading was against what was expected of it."""
    count, above = len(update.used), update.above
    if above is None:
        return _("your reading was wet, above 30, no number")
    if abs(above) < 0.05:
        if count == 1:
            return _("your reading was as forecast")
        return _("your reading was as expected")
    if count == 1:
        said = (
            N_("your reading was {mc:.1f} above the forecast")
            if above > 0.0
            else N_("your reading was {mc:.1f} below the forecast")
        )
    elif count == 2:
        said = (
            N_("your reading was {mc:.1f} above what the earlier one led to expect")
            if above > 0.0
            else N_(
                "your reading was {mc:.1f} below what the earlier one led to expect"
            )
        )
    else:
        said = (
            N_("your reading was {mc:.1f} above what the earlier ones led to expect")
            if above > 0.0
            else N_(
                "your reading was {mc:.1f} below what the earlier ones led to expect"
            )
        )
    return _(said, mc=abs(above))


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
        return _("the forecast stays")
    if days > 0:
        return n_(
            "the forecast moved a day later",
            "the forecast moved {count} days later",
            days,
        )
    return n_(
        "the forecast moved a day earlier",
        "the forecast moved {count} days earlier",
        -days,
    )


def outlier_words(outlier: Outlier) -> str:
    """Say what contradicts a reading, and what to do."""
    reading = outlier.reading
    wet = reading.wet or reading.mc is None
    return _(
        N_(
            "wet, above 30, on {date}: the weather and the other readings leave room "
            "for {low:.0f} to {high:.0f} %. It is kept, not used; read another board, "
            "or check the date, the species setting and the battery"
        )
        if wet
        else N_(
            "{mc:.1f} % on {date}: the weather and the other readings leave room for "
            "{low:.0f} to {high:.0f} %. It is kept, not used; read another board, or "
            "check the date, the species setting and the battery"
        ),
        mc=reading.mc,
        date=reading.day,
        low=outlier.low,
        high=outlier.high,
    )


def air_warnings(air: StorageAir) -> list[str]:
    """Say where a long record left room for too few draws of each place."""
    if not air.too_few_draws:
        return []
    return [
        _(
            "So long a record leaves room for {draws} of {asked} draws of each place: "
            "what is not known of a place counts too little in the ranges. Fewer years "
            "mend that.",
            draws=air.draws,
            asked=air.asked_draws,
        )
    ]
