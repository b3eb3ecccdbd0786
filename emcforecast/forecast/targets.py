"""What moisture a use wants: from the published table, a reading, or a number."""

from dataclasses import dataclass, replace

from emcforecast import bounds, tables
from emcforecast.errors import InputError
from emcforecast.language import _, did_you_mean

REGIONS_TRIED = ("any", "us", "europe", "uk", "germany", "finland", "spain")
"""Where a use is looked for when no region is named, in this order."""
ALSO_CALLED = {
    "framing": "timber-frame",
    "timber-framing": "timber-frame",
    "outdoor-furniture": "exterior-furniture",
    "garden-furniture": "exterior-furniture",
}
"""What people say, and the use of the table it is."""
READING_MARGIN = 1.0
"""How near to an old piece's reading counts as there, % MC (common practice)."""
INDOOR_UP_TO = 14.0
"""A target no wetter is for indoors, % MC (common practice, no source)."""
TOO_DRY_BELOW = 1.0
"""So far below the lower end of an indoor range wood is still fit, % MC: meters and
rooms differ by as much (common practice, no source)."""


@dataclass(frozen=True)
class Target:
    """A moisture content to reach.

    Parameters
    ----------
    label : str
        In words: "furniture" or "12 %".
    low, high : float or None, float
        The range to be in, % of oven-dry mass; low None where only the top matters.
    source : str
        Where it comes from.
    least : float, optional
        Drier than this it is not ready either; None where the place decides
        (`emcforecast.forecast.plan.success.bounded_below`) or nothing is too dry.
    is_general : bool
        Whether the range of no region stands in for one that has none of its own.
    """

    label: str
    low: float | None
    high: float
    source: str
    least: float | None = None
    is_general: bool = False

    @property
    def words(self) -> str:
        """The target as people say it: "furniture (7 to 9 %)"."""
        if self.low is None:
            return (
                f"{self.high:g} %"
                if "%" in self.label
                else (f"{self.label} ({self.high:g} % or less)")
            )
        return f"{self.label} ({self.low:g} to {self.high:g} %)"

    @property
    def numbers(self) -> str:
        """The moisture alone: "7 to 9 %"."""
        return f"{'' if self.low is None else f'{self.low:g} to '}{self.high:g} %"


def target_for_use(use: str, region: str | None = None) -> Target:
    """Look a use up in the published table.

    Parameters
    ----------
    use : str
        Such as "furniture", "flooring" or "decking"; "framing" is timber framing.
    region : str, optional
        Such as "us", "us-dry-southwest" or "europe"; the most general row otherwise.

    Returns
    -------
    Target

    Raises
    ------
    InputError
        For an unknown use or region, naming the nearest.

    Examples
    --------
    >>> target_for_use("furniture").words
    'furniture (7 to 9 %)'
    """
    rows = _chosen()
    word = "-".join(use.strip().lower().split())
    word = ALSO_CALLED.get(word, word)
    if word not in uses():
        raise InputError(
            _(
                "use '{use}' is not known.{near} Known: {known}; or say "
                "--target with a number",
                use=use,
                near=did_you_mean(word, uses()),
                known=", ".join(uses()),
            )
        )
    known = {row["region"]: row for row in reversed(rows) if row["use"] == word}
    wanted = [region] if region else [*REGIONS_TRIED, *known]
    found = next((known[name] for name in wanted if name in known), None)
    source = "" if found is None else found["source"]
    is_general = False
    if found is None and "any" in known and region in {row["region"] for row in rows}:
        found, is_general = known["any"], True
        source = found["source"]
    if found is None:
        raise InputError(
            _(
                "region '{region}' is not listed for {word}; listed: {known}",
                region=region,
                word=word,
                known=", ".join(known),
            )
        )
    low = float(found["low_pct"]) if found["low_pct"] else None
    high = float(found["high_pct"])
    return _for_indoors(Target(word, low, high, source, is_general=is_general))


def target_for_use_or_general(use: str, region: str | None) -> Target:
    """Return the moisture of a use in a region; where no row is of both, in general.

    Raises
    ------
    InputError
        When the use is unknown.
    """
    try:
        return target_for_use(use, region)
    except InputError:
        return target_for_use(use)


def uses() -> tuple[str, ...]:
    """Return the uses that have a range, by name, and what else they are called."""
    return (*sorted({row["use"] for row in _chosen()}), *ALSO_CALLED)


def _for_indoors(target: Target) -> Target:
    """Say what is too dry, where the target is a range for indoors."""
    if target.low is None or target.high > INDOOR_UP_TO:
        return target
    return replace(target, least=target.low - TOO_DRY_BELOW)


def ranges_of(use: str) -> dict[str, tuple[float | None, float]]:
    """Return the published ranges of a use by region, the one used unasked first.

    Parameters
    ----------
    use : str
        As in the table; others have none.

    Examples
    --------
    >>> ranges_of("furniture")["us-damp-coast"]
    (8.0, 13.0)
    """
    mine = [row for row in _chosen() if row["use"] == use]
    known = {row["region"]: row for row in reversed(mine)}
    first = [name for name in REGIONS_TRIED if name in known]
    return {
        name: (
            float(low) if (low := known[name]["low_pct"]) else None,
            float(known[name]["high_pct"]),
        )
        for name in [*first, *(name for name in known if name not in first)]
    }


def _chosen() -> list[dict[str, str]]:
    rows = [row for row in tables.rows("target_mc.csv") if row["chosen"] == "yes"]
    return [row for row in rows if row["high_pct"]]


def target_of_number(moisture: float) -> Target:
    """Return the target of reaching a moisture content from above, %."""
    if not bounds.within(moisture, bounds.TARGET):
        raise InputError(
            _(
                "target {moisture:g} % is outside {allowed} % of oven-dry "
                "mass; wood in air does not rest there",
                moisture=moisture,
                allowed=bounds.spoken(bounds.TARGET),
            )
        )
    return Target(f"{moisture:g} %", None, moisture, "as asked")


def target_of_reading(reading: float) -> Target:
    """Return the target of matching an old piece in the room that reads so, % MC.

    Examples
    --------
    >>> target_of_reading(8.5).high
    9.5
    """
    target_of_number(reading)
    return _for_indoors(
        Target(
            f"as the old piece, {reading:g} %",
            reading - READING_MARGIN,
            reading + READING_MARGIN,
            "a reading of an old piece where it will live",
        )
    )
