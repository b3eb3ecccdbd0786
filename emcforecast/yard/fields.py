"""Single values of the yard file, checked: each refusal is one line."""

import re
from collections.abc import Mapping, Sequence
from datetime import date

from emcforecast.dates import parse_date
from emcforecast.errors import InputError, YardError
from emcforecast.language import _, did_you_mean

Table = Mapping[str, object]


def only(table: Table, allowed: Sequence[str], where: str) -> None:
    """Refuse a key that nothing reads, with the nearest one that is."""
    for key in table:
        if key not in allowed:
            near = did_you_mean(key, tuple(allowed))
            raise YardError(
                _(
                    "{where}: '{key}' is not a key here.{near} Allowed: {allowed}.",
                    where=where,
                    key=key,
                    near=near,
                    allowed=", ".join(allowed),
                )
            )


def table_of(value: object, where: str, example: str) -> Table:
    """Return a table, or say how one is written."""
    if not isinstance(value, dict):
        raise YardError(
            _(
                "{where}: must be a table, not {value!r}. Write {example}",
                where=where,
                value=value,
                example=example,
            )
        )
    return value


def tables_of(value: object, where: str, example: str) -> list[Table]:
    """Return a list of tables, or say how one is written."""
    if not isinstance(value, list):
        raise YardError(
            _(
                "{where}: must be a list of tables. Write {example}",
                where=where,
                example=example,
            )
        )
    return [table_of(item, where, example) for item in value]


def text(table: Table, key: str, where: str) -> str | None:
    """Return a text that is not empty, or None when the key is missing."""
    if key not in table:
        return None
    value = table[key]
    if not isinstance(value, str) or not value.strip():
        raise YardError(
            _(
                '{where}: {key} = {given} must be text in quotes, such as {key} = "…".',
                where=where,
                key=key,
                given=_shown(value),
            )
        )
    return value.strip()


def flag(table: Table, key: str, where: str) -> bool:
    """Return true or false; false when the key is missing."""
    value = table.get(key, False)
    if not isinstance(value, bool):
        raise YardError(
            _("{where}: {key} must be true or false.", where=where, key=key)
        )
    return value


def choice(table: Table, key: str, allowed: Sequence[str], where: str) -> str | None:
    """Return one of the allowed words, or None when the key is missing."""
    value = text(table, key, where)
    if value is not None and value not in allowed:
        near = did_you_mean(value, tuple(allowed))
        raise YardError(
            _(
                "{where}: {key} '{value}' is not known.{near} Allowed: {allowed}.",
                where=where,
                key=key,
                value=value,
                near=near,
                allowed=", ".join(allowed),
            )
        )
    return value


def number(
    table: Table, key: str, limits: tuple[float, float], where: str, unit: str = ""
) -> float | None:
    """Return a number within its limits, or None when the key is missing."""
    if key not in table:
        return None
    value = table[key]
    low, high = limits
    if (
        isinstance(value, bool)
        or not isinstance(value, int | float)
        or not low <= value <= high
    ):
        raise YardError(
            _(
                "{where}: {key} = {given} must be a number from {low:g} to "
                "{high:g}{unit}.",
                where=where,
                key=key,
                given=_shown(value),
                low=low,
                high=high,
                unit=unit,
            )
        )
    return float(value)


def day(table: Table, key: str, where: str) -> date | None:
    """Return a date, or None when the key is missing."""
    return None if key not in table else as_day(table[key], f"{where}: {key}")


def as_day(value: object, where: str) -> date:
    """Return the day of a TOML date, or of text such as "2025-04-01"."""
    if not isinstance(value, date | str):
        raise YardError(
            _(
                "{where} = {given} is not a date. Write it year-month-day, "
                "such as 2025-04-01.",
                where=where,
                given=_shown(value),
            )
        )
    try:
        return parse_date(value)
    except InputError as error:
        raise YardError(f"{where}: {error}") from None


def label(value: str, where: str) -> str:
    """Return a name that can also stand in the readings log."""
    if len(value) > 60 or re.search(r'[,;"\x00-\x1f\x7f]', value):
        raise YardError(
            _(
                "{where}: {value!r} cannot be a name: at most 60 letters, "
                "and no comma, semicolon or quote, for the readings log.",
                where=where,
                value=value,
            )
        )
    if value[0] in "=+-@":
        raise YardError(
            _(
                "{where}: {value!r} cannot be a name: start it with a letter "
                "or a digit, or a spreadsheet would take it for a formula.",
                where=where,
                value=value,
            )
        )
    return " ".join(value.split())


def _shown(value: object) -> str:
    return str(value) if isinstance(value, date) else repr(value)
