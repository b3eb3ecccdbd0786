"""Cautions in plain words, by topic, for every command and page to print."""

from collections.abc import Iterable

from emcforecast.errors import InputError, did_you_mean

CAUTIONS: dict[str, str] = {
    "meter": "A forecast does not replace a meter.",
    "weight": "This is weight, not capacity; ask a licensed engineer.",
    "leaning": "If a stack leans, keep people away from it.",
    "tarp": "A tarp to the ground makes mould: cover the top, leave the sides open.",
    "mould": "Mould and wood dust harm lungs: wear a fitted respirator.",
    "heater": (
        "Heaters and dehumidifiers: clear space around, straight into a wall socket, "
        "never unattended; ask an electrician."
    ),
    "heat treatment": (
        "Hot enough is not certified: plant-health rules and your authority decide on "
        "moving wood."
    ),
    "structural": (
        "Moisture content is not a grade: structural use needs grading and your local "
        "building official."
    ),
}
"""Topic to caution."""


def cautions(topics: Iterable[str]) -> tuple[str, ...]:
    """Return the cautions of some topics, each once, in the table's order.

    Parameters
    ----------
    topics : iterable of str
        Keys of ``CAUTIONS``.

    Returns
    -------
    tuple of str

    Raises
    ------
    InputError
        When a topic is unknown.

    Examples
    --------
    >>> cautions(["weight"])
    ('This is weight, not capacity; ask a licensed engineer.',)
    """
    wanted = set(topics)
    for topic in sorted(wanted - CAUTIONS.keys()):
        raise InputError(
            f"caution '{topic}' is not known.{did_you_mean(topic, tuple(CAUTIONS))} "
            f"Known: {', '.join(CAUTIONS)}."
        )
    return tuple(words for topic, words in CAUTIONS.items() if topic in wanted)
