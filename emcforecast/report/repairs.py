"""The words of what was repaired, decided or left out in a weather series."""

from typing import TYPE_CHECKING, Any

from emcforecast.dates import month
from emcforecast.language import N_, _, n_
from emcforecast.report.repair_table import (
    DAILY_MEAN,
    OPTIONS,
    SENTENCES,
    STEPS,
    UNITS,
)
from emcforecast.weather.quantities import quantity_name
from emcforecast.weather.repairs import Repair, RepairKind, repairs_of

if TYPE_CHECKING:
    import xarray as xr


def repair_sentence(repair: Repair) -> str:
    """Say a repair in one sentence without its full stop.

    Examples
    --------
    >>> repair_sentence(Repair(RepairKind.BROKEN_LINES, 1))
    '1 broken line left out'
    """
    facts = dict(repair.facts)
    values = {**facts, "count": repair.count or 0, **_words(repair, facts)}
    said = SENTENCES[repair.kind]
    if repair.kind is RepairKind.MEAN_OF_EXTREMES and facts.get("step") == "day":
        said = DAILY_MEAN
    if said == "{text}":
        return str(facts["text"])
    if isinstance(said, str):
        return _(said, **values)
    values.pop("count")
    return n_(*said, repair.count or 0, **values)


def repair_sentences(weather: "xr.Dataset") -> list[str]:
    """Say every repair of a weather series, one sentence each."""
    return [repair_sentence(item) for item in repairs_of(weather)]


def _words(repair: Repair, facts: dict[str, Any]) -> dict[str, str]:
    """Return the words that depend on more than one value."""
    quantity, kind = repair.quantity, repair.kind
    name = quantity_name(quantity)
    words = {
        "name": name,
        "short": quantity_name(quantity.removeprefix("air_")),
        "sun": _("sun") if quantity == "shortwave" else name,
        "unit_of": UNITS.get(quantity, ""),
        "difference": "K" if quantity == "air_temperature" else "%",
        "option": OPTIONS.get(quantity, ""),
        "all": _("all") if repair.count is None else str(repair.count),
    }
    return words | _special_words(repair, facts, kind)


def _counted_words(
    repair: Repair, facts: dict[str, Any], kind: RepairKind
) -> dict[str, str]:
    """Return the words of a repair that counts something beside its count."""
    words: dict[str, str] = {}
    if kind is RepairKind.READINGS_AVERAGED:
        words["hours_words"] = n_("{count} hour", "{count} hours", facts["hours"])
    elif kind is RepairKind.THIN_MONTHS:
        words["left_out_words"] = n_("{count} hour", "{count} hours", facts["left_out"])
    elif kind is RepairKind.FAR_FUTURE:
        words["steps"] = n_(*STEPS[str(facts["step"])], repair.count or 0)
    elif kind is RepairKind.UNREADABLE_TIMES:
        example = facts.get("example")
        words["lines"] = n_(
            *STEPS["row" if example is None else "line"], repair.count or 0
        )
        words["such"] = ""
        if example is not None:
            words["such"] = _(" (such as '{example}')", example=example)
    return words


def _special_words(
    repair: Repair, facts: dict[str, Any], kind: RepairKind
) -> dict[str, str]:
    """Return the words of one kind of repair."""
    words: dict[str, str] = {}
    if kind in (
        RepairKind.READINGS_AVERAGED,
        RepairKind.THIN_MONTHS,
        RepairKind.FAR_FUTURE,
        RepairKind.UNREADABLE_TIMES,
    ):
        return _counted_words(repair, facts, kind)
    if kind is RepairKind.UNIT_DECIDED:
        words["unit"] = str(facts["unit"]).replace("m2", "m²")
    elif kind is RepairKind.UNITS_OF_TABLE:
        american = facts["system"] == "us"
        words["units"] = _("°F, inches and mph") if american else _("°C, mm and m/s")
        words["because"] = _(", as its humidity shows") if facts["by"] else ""
    elif kind is RepairKind.GRID_POINT:
        words["labelled"] = f" ({facts['label']})" if facts["label"] else ""
    elif kind is RepairKind.FAILED_CHECKS:
        words["column_name"] = str(facts["column"]).replace("_", " ")
    elif kind is RepairKind.MONTHS_FAR_OFF:
        when = str(facts["month"])
        words["when"] = month(int(when)) if len(when) == 2 else when
    elif kind is RepairKind.STANDARD_PRESSURE:
        height = facts["elevation"]
        words["at"] = (
            _("at sea level") if height is None else _("at {height:g} m", height=height)
        )
    elif kind is RepairKind.SEA_LEVEL_PRESSURE:
        words["percent"] = f"{100.0 * float(facts['too_high_at_1000_m']):.0f}"
    elif kind is RepairKind.HOURS_OF_DAYS:
        span = facts["range"]
        words["range_words"] = (
            _("their own range")
            if span is None
            else _("a range of {range:g} K", range=span)
        )
    elif kind is RepairKind.SUN_OF_DAILY_RANGE:
        taken = facts["taken"]
        words["at_45"] = (
            ""
            if taken is None
            else _(", at {latitude} for want of a latitude", latitude=_half(taken))
        )
    elif kind is RepairKind.NEAREST_STATION:
        words["station_words"] = station_words(**facts)
    return words


def _half(latitude: float) -> str:
    return _(
        N_("{degrees:.0f}° south") if latitude < 0.0 else N_("{degrees:.0f}° north"),
        degrees=abs(latitude),
    )


def station_words(
    *,
    station: str,
    name: str,
    distance_km: float,
    climb_m: float | None,
    elevation: float | None,
    first: int | None,
    last: int | None,
) -> str:
    """Say a station's number, name, distance, height and years in one line."""
    parts = [
        _(
            "{station} {name}: {distance:.0f} km away",
            station=station,
            name=name,
            distance=distance_km,
        )
    ]
    if climb_m is not None:
        side = N_("{climb:.0f} m higher") if climb_m > 0 else N_("{climb:.0f} m lower")
        parts.append(_(side, climb=abs(climb_m)))
    elif elevation is not None:
        parts.append(_("at {height:.0f} m", height=elevation))
    if first is not None:
        parts.append(_("{first} to {last}", first=first, last=last or _("now")))
    return ", ".join(parts)
