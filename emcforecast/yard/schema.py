"""From the yard file's tables to a checked yard."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from emcforecast import bounds, tables
from emcforecast.errors import InputError, YardError
from emcforecast.language import _
from emcforecast.storage.settings import Setting
from emcforecast.units import UnitSystem, parse_temperature
from emcforecast.wood.added_species import species_from_mapping
from emcforecast.wood.species import Species
from emcforecast.wood.species_names import is_packaged
from emcforecast.yard import fields
from emcforecast.yard.fields import Table
from emcforecast.yard.model import Meter, Stack, WeatherSource, Yard
from emcforecast.yard.places import check_setting, known_settings, setting_from
from emcforecast.yard.stacks import stack_from

TOP_KEYS = (
    "name",
    "units",
    "region",
    "readings",
    "have",
    "weather",
    "meter",
    "setting",
    "species",
    "stack",
)
_HINTS = (
    "latitude",
    "longitude",
    "elevation",
    "utc_offset",
    "day_first",
    "temperature_unit",
    "humidity_unit",
)
WEATHER_KEYS = ("file", "archive", "place", *_HINTS)


def yard_from(document: Table, path: Path) -> Yard:
    """Check a parsed yard file and return the yard.

    Parameters
    ----------
    document : mapping
        The file's tables as plain values.
    path : Path
        The file, for messages and for files named relative to it.

    Returns
    -------
    Yard

    Raises
    ------
    YardError
        At the first thing wrong: what was given, what is allowed, what to do.
    """
    where = str(path)
    fields.only(document, TOP_KEYS, where)
    units = fields.choice(document, "units", ("us", "si"), where)
    system: UnitSystem | None = "us" if units == "us" else "si" if units else None
    described = _settings(document.get("setting", {}), path)
    known = known_settings(described)
    added = _species(document.get("species", {}), where)
    yard = Yard(
        path=path,
        name=fields.text(document, "name", where) or path.stem,
        units=system,
        region=fields.choice(document, "region", regions(), where),
        weather=_weather(document, where),
        meter=_meter(document.get("meter", {}), system or "si", where),
        described=tuple(described),
        settings=known,
        readings=path.parent
        / (fields.text(document, "readings", where) or "readings.csv"),
        have=_have(document, known, where),
        woods=added,
    )
    stacks: list[Stack] = []
    notes: list[str] = []
    listed = document.get("stack", [])
    for number, table in enumerate(
        fields.tables_of(listed, f"{where}: stack", "[[stack]] above each stack."), 1
    ):
        stack, note = stack_from(table, where, number, known, added, system or "si")
        if any(s.name.casefold() == stack.name.casefold() for s in stacks):
            raise YardError(
                _(
                    "{where}: two stacks are named '{stack}'. Readings could not "
                    "tell them apart; rename one.",
                    where=where,
                    stack=stack.name,
                )
            )
        stacks.append(stack)
        notes += [note] if note and note not in notes else []
    return replace(yard, stacks=tuple(stacks), notes=tuple(notes))


def regions() -> tuple[str, ...]:
    """Return the regions of the target table."""
    return tuple(dict.fromkeys(row["region"] for row in tables.rows("target_mc")))


def _weather(document: Table, where: str) -> WeatherSource:
    if "weather" not in document:
        return WeatherSource()
    given = document["weather"]
    if isinstance(given, str):
        given = {"file": given}
    where = f"{where}: [weather]"
    table = fields.table_of(given, where, '[weather] and below it file = "weather.nc"')
    fields.only(table, WEATHER_KEYS, where)
    file = fields.text(table, "file", where)
    archive = fields.text(table, "archive", where)
    if (file is None) == (archive is None):
        raise YardError(
            _(
                '{where}: give either file or archive, not both: file = "weather.nc", '
                'or archive = "open-meteo" with place = [46.1, 7.2].',
                where=where,
            )
            if file
            else _(
                '{where}: give either file or archive: file = "weather.nc", or '
                'archive = "open-meteo" with place = [46.1, 7.2].',
                where=where,
            )
        )
    hints: dict[str, object] = {
        key: fields.number(table, key, limits, where)
        for key, limits in bounds.PLACE.items()
        if key in table
    }
    hints |= {key: table[key] for key in _HINTS if key in table and key not in hints}
    if "day_first" in hints:
        hints["day_first"] = fields.flag(table, "day_first", where)
    return WeatherSource(file, archive, _place(table, archive, where), hints)


def _place(table: Table, archive: str | None, where: str) -> tuple[float, float] | None:
    if archive is None:
        if "place" in table:
            raise YardError(
                _(
                    "{where}: place belongs to an archive. For a file write "
                    "latitude and longitude.",
                    where=where,
                )
            )
        return None
    place = table.get("place")
    if isinstance(place, list) and len(place) == 2:
        pair = {"latitude": place[0], "longitude": place[1]}
        latitude = fields.number(pair, "latitude", (-90.0, 90.0), where)
        longitude = fields.number(pair, "longitude", (-180.0, 360.0), where)
        if latitude is not None and longitude is not None:
            return latitude, longitude
    raise YardError(
        _(
            "{where}: an archive needs place = [latitude, longitude], "
            "such as place = [46.1, 7.2].",
            where=where,
        )
    )


def _meter(given: object, system: UnitSystem, where: str) -> Meter:
    where = f"{where}: [meter]"
    table = fields.table_of(given, where, "[meter] and below it compensated = true")
    fields.only(table, ("calibrated_at", "compensated", "insulated"), where)
    compensated, insulated = (
        fields.flag(table, key, where) for key in ("compensated", "insulated")
    )
    warmth = table.get("calibrated_at")
    if warmth is None:
        calibrated_at = Meter().calibrated_at
    elif isinstance(warmth, bool) or not isinstance(warmth, int | float | str):
        raise YardError(
            _('{where}: calibrated_at must be a temperature like "70 F".', where=where)
        )
    else:
        try:
            calibrated_at = parse_temperature(warmth, system)
        except InputError as error:
            raise YardError(f"{where}: {error}") from error
    return Meter(calibrated_at, compensated, insulated)


def _settings(given: object, path: Path) -> dict[str, Setting]:
    example = '[setting.shed] and below it kind = "loft"'
    found: dict[str, Setting] = {}
    for name, value in fields.table_of(given, f"{path}: setting", example).items():
        where = f"{path}: [setting.{name}]"
        fields.label(name, where)
        table = fields.table_of(value, where, example)
        found[name] = setting_from(name, table, path.parent, where)
    return found


def _species(given: object, where: str) -> dict[str, Species]:
    example = '[species."my wood"] and below it basic_gravity = 0.55'
    added: dict[str, Species] = {}
    for name, value in fields.table_of(given, f"{where}: species", example).items():
        values = fields.table_of(value, f"{where}: species.{name}", example)
        if is_packaged(name):
            raise YardError(
                _(
                    "{where}: species.{name}: there is a packaged wood of this "
                    "name; give yours another, such as 'my {name}'",
                    where=where,
                    name=name,
                )
            )
        try:
            added[name] = species_from_mapping(name, values)
        except InputError as error:
            raise YardError(f"{where}: {error}") from error
    return added


def _have(document: Table, known: Mapping[str, Setting], where: str) -> tuple[str, ...]:
    given = document.get("have", [])
    if isinstance(given, str):
        given = [part.strip() for part in given.split(",")]
    if not isinstance(given, list) or not all(isinstance(n, str) for n in given):
        raise YardError(
            _('{where}: have must be a list: have = ["shed", "indoor"].', where=where)
        )
    return tuple(check_setting(name, known, f"{where}: have") for name in given)
