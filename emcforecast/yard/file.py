"""The yard file: read and checked, and edited with its comments kept."""

import re
import tomllib
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path

import tomlkit
from tomlkit.items import AoT, Array

from emcforecast.errors import YardError
from emcforecast.files import contents, exists, parse_toml, replace, unopened
from emcforecast.language import _
from emcforecast.units import UnitSystem
from emcforecast.yard.locking import alone
from emcforecast.yard.model import Yard
from emcforecast.yard.schema import yard_from

LARGEST_YARD = 5_000_000
_BOM = b"\xef\xbb\xbf"


def _by_hand(path: Path, stack: object) -> YardError:
    return YardError(
        _(
            "{path}: stack '{stack}' is written in a way that cannot be changed here. "
            'Add to it by hand: moved = [{{ date = 2025-08-24, setting = "loft" }}]',
            path=path,
            stack=stack,
        )
    )


TEMPLATE = """\
# {name}: the stacks of this yard. `emcforecast yard {file}` reads it.
name = {quoted}
units = "{units}"

[weather]
file = {weather}
"""


def begin_yard(path: Path, name: str, weather: str, units: UnitSystem | str) -> Yard:
    """Begin a yard file; an existing file is left alone.

    Parameters
    ----------
    path : Path
        The file to make.
    name : str
        What the yard is called.
    weather : str
        Its weather file, or "demo".
    units : {"us", "si"}
        Inches and °F, or mm and °C.

    Raises
    ------
    YardError
        When there is a file already, or it cannot be written.
    """
    if exists(path):
        raise YardError(
            _(
                "{path}: is there already. `emcforecast yard add {path}` adds a stack.",
                path=path,
            )
        )
    text = TEMPLATE.format(
        name=" ".join(name.split()),
        file=path.name,
        quoted=tomlkit.string(name).as_string(),
        units=units,
        weather=tomlkit.string(weather).as_string(),
    )
    replace(path, text.encode(), YardError)
    return read_yard(path)


def read_yard(path: str | Path) -> Yard:
    """Read and check a yard file.

    Parameters
    ----------
    path : path-like
        The TOML file.

    Returns
    -------
    Yard

    Raises
    ------
    YardError
        When it cannot be read or something in it is wrong: one line.
    """
    path = Path(path)
    return _checked(_text(path, _bytes(path)), path)


Seen = Callable[[str, str], None]
"""Told the text of a yard file before and after a change of it."""


def edit(
    path: str | Path, change: Callable[[str], str], seen: Seen | None = None
) -> Yard:
    """Change a yard file in place; comments and layout stay.

    Parameters
    ----------
    path : path-like
        The yard file.
    change : callable
        From the file's text, its lines ended by LF, to the new text.
    seen : callable, optional
        Told the text before and after, lines ended by LF, once it is written.

    Returns
    -------
    Yard
        The yard as it now stands.

    Raises
    ------
    YardError
        When the file, before or after the change, is not a yard file; the file
        is then untouched.

    Notes
    -----
    The file is read, changed and replaced under a lock, and replaced whole, so
    that neither a kill nor another writer can spoil it.
    """
    path = Path(path)
    _bytes(path)
    with alone(path):
        before = _bytes(path)
        text = _text(path, before)
        _checked(text, path)
        plain = text.replace("\r\n", "\n")
        changed = after = change(plain)
        yard = _checked(after, path)
        if "\r\n" in text:
            after = after.replace("\n", "\r\n")
        bom = _BOM if before.startswith(_BOM) else b""
        replace(path, bom + after.encode(), YardError)
        if seen is not None:
            seen(plain, changed)
    return yard


def stack_values(given: Mapping[str, object]) -> dict[str, object]:
    """Return the keys of a [[stack]] table from what a person said of a stack.

    Parameters
    ----------
    given : mapping
        Keys of the table in order, None for what was not said; count, length and
        width of its boards become one table where the count is known.
    """
    values = {key: value for key, value in given.items() if value is not None}
    if "count" in values:
        table = tomlkit.inline_table()
        table.update(
            {
                key: values.pop(key)
                for key in ("count", "length", "width")
                if key in values
            }
        )
        values["boards"] = table
    return values


def add_stack(
    path: str | Path, values: Mapping[str, object], seen: Seen | None = None
) -> Yard:
    """Put a new stack at the end of a yard file; what stands there stays as it is.

    Parameters
    ----------
    path : path-like
        The yard file.
    values : mapping
        Keys of a [[stack]] table, in the order they shall stand.
    seen : callable, optional
        As `edit` takes it.

    Returns
    -------
    Yard
        The yard with the stack.

    Raises
    ------
    YardError
        When the stack or the file is wrong; the file is then untouched.
    """

    def change(text: str) -> str:
        if isinstance(tomlkit.parse(text).get("stack"), Array):
            raise YardError(
                _(
                    "{path}: its stacks stand in one list, stack = [ … ]. Write "
                    "each under its own [[stack]] first.",
                    path=path,
                )
            )
        table = tomlkit.table()
        for key, value in values.items():
            table.add(key, value)
        stacks = tomlkit.aot()
        stacks.append(table)
        block = tomlkit.document()
        block.append("stack", stacks)
        gap = "" if not text else "\n" if text.endswith("\n") else "\n\n"
        return f"{text}{gap}{block.as_string().strip()}\n"

    return edit(path, change, seen)


def move_stack(
    path: str | Path, name: str, day: date, setting: str, seen: Seen | None = None
) -> Yard:
    """Note that a stack was carried to another setting.

    Parameters
    ----------
    path : path-like
        The yard file.
    name : str
        The stack.
    day : date
        When.
    setting : str
        Where to.
    seen : callable, optional
        As `edit` takes it.

    Returns
    -------
    Yard

    Raises
    ------
    YardError
        When there is no such stack, the move is wrong, or the stack is written in
        a way that cannot be changed here.
    """
    path = Path(path)

    def change(text: str) -> str:
        stacks = tomllib.loads(text).get("stack", [])
        wanted = _checked(text, path).stack(name).name
        at = next(
            n for n, table in enumerate(stacks) if table["name"].strip() == wanted
        )
        start, end = _block(text, at, path)
        block = tomlkit.parse(text[start:end])
        table = block["stack"][0]
        # Written whole before anything is replaced, and compared below.
        move = {"date": day, "setting": setting}
        if isinstance(table.get("moved"), AoT):
            table["moved"].append(tomlkit.item(move))
        else:
            inline = tomlkit.inline_table()
            inline.update(move)
            if "moved" not in table:
                table.append("moved", tomlkit.array())
            table["moved"].append(inline)
        after = text[:start] + block.as_string() + text[end:]
        stacks[at].setdefault("moved", []).append(move)
        if tomllib.loads(after).get("stack") != stacks:
            raise _by_hand(path, wanted)
        return after

    return edit(path, change, seen)


def _block(text: str, at: int, path: Path) -> tuple[int, int]:
    """Return where the text of a stack begins and ends, blank lines after it apart."""
    heads = list(re.finditer(r"^[ \t]*\[\[?.*$", text, re.MULTILINE))
    own = [
        number
        for number, head in enumerate(heads)
        if re.match(r"\[\[\s*stack\s*\]\]", head[0].strip())
    ]
    if at >= len(own):
        raise _by_hand(path, at + 1)
    start = heads[own[at]].start()
    later = (
        head.start()
        for head in heads[own[at] + 1 :]
        if not re.match(r"\[\[?\s*stack\s*\.", head[0].strip())
    )
    block = text[start : next(later, len(text))]
    # Comments above the next heading belong to it.
    lines = block.splitlines(keepends=True)
    while len(lines) > 1 and (
        not lines[-1].strip() or lines[-1].lstrip().startswith("#")
    ):
        lines.pop()
    return start, start + len("".join(lines))


def _bytes(path: Path) -> bytes:
    try:
        return contents(path, YardError, LARGEST_YARD)
    except OSError as error:
        raise YardError(unopened(path, error)) from error


def _text(path: Path, content: bytes) -> str:
    try:
        return content.removeprefix(_BOM).decode("utf-8")
    except UnicodeDecodeError as error:
        raise YardError(
            _(
                "{path}: is not UTF-8 text (byte {byte}). Save it as UTF-8.",
                path=path,
                byte=error.start + 1,
            )
        ) from error


def _checked(text: str, path: Path) -> Yard:
    try:
        document = parse_toml(text)
    except ValueError as error:
        raise YardError(
            _("{path}: cannot be read as TOML: {error}.", path=path, error=error)
        ) from error
    return yard_from(document, path)
