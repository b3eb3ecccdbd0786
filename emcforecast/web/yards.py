"""The yard that is served: asked, written to and undone, through `emcforecast.yard`."""

import hashlib
import json
import re
import secrets
from collections.abc import Callable, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from emcforecast.errors import InputError, YardError
from emcforecast.files import contents, replace
from emcforecast.language import _
from emcforecast.units import UnitSystem
from emcforecast.web.jobs import Tell
from emcforecast.web.questions import key_of
from emcforecast.web.rendered import kept_of, yard_report_of
from emcforecast.web.sources import number
from emcforecast.web.store import Kept
from emcforecast.yard.file import (
    add_stack,
    edit,
    move_stack,
    read_yard,
    stack_values,
)
from emcforecast.yard.model import Yard
from emcforecast.yard.reading import fields_of

if TYPE_CHECKING:
    from emcforecast.answers.answered import Answered

READING = (
    *("stack", "value", "kind", "board", "depth", "wood_temperature"),
    *("species_setting", "note", "time"),
)
"""Fields of the form for a reading."""
STACK = (
    *("name", "species", "thickness", "sawn", "stacked", "setting", "use", "target"),
    *("need", "from_mc", "note", "count", "length", "width"),
)
"""Fields of the form for a new stack."""
_CHANGE = re.compile(r"[0-9a-f]{16}")
LARGEST_CHANGE = 12_000_000
MOST_CHANGES = 50


class ServedYard:
    """One yard file and what may be asked of it and done to it."""

    def __init__(self, path: Path, keep: Path, units: UnitSystem) -> None:
        """Take the yard file, the server's folder and units where the yard has none."""
        self.path = path
        self._changes = keep / "changes"
        self._units = units

    def read(self) -> Yard:
        """Return the yard as its file stands.

        Raises
        ------
        YardError
            When the file cannot be used.
        """
        return read_yard(self.path)

    def system(self, yard: Yard, asked: str | None = None) -> UnitSystem:
        """Return the units asked for, the yard's own, or the server's."""
        if asked in ("us", "si"):
            return "us" if asked == "us" else "si"
        return yard.units or self._units

    def key(
        self, yard: Yard, today: date, system: UnitSystem, command: str = "yard"
    ) -> str:
        """Return the key of the yard's answer: it changes with any file behind it."""
        mark = hashlib.sha256()
        for path in (yard.path, yard.readings):
            mark.update(contents(path) if path.exists() else b"")
            mark.update(b"\0")
        source = yard.weather
        if source.file not in (None, "demo"):
            stat = (yard.path.parent / str(source.file)).stat()
            mark.update(f"{stat.st_size} {stat.st_mtime_ns}".encode())
        asked = {"today": today.isoformat(), "units": system, "file": str(self.path)}
        return key_of(command, asked, mark.hexdigest())

    def answer(
        self, yard: Yard, today: date, system: UnitSystem
    ) -> Callable[[Tell], Kept]:
        """Return what answers how the yard stands."""
        work = self._work(yard, today, system)
        return lambda tell: kept_of(work(tell))

    def report(
        self, yard: Yard, today: date, system: UnitSystem
    ) -> Callable[[Tell], Kept]:
        """Return what makes the one page of the yard, to keep and print."""
        work = self._work(yard, today, system)
        return lambda tell: yard_report_of(work(tell))

    def _work(
        self, yard: Yard, today: date, system: UnitSystem
    ) -> "Callable[[Tell], Answered[Any]]":
        from emcforecast.answers.yard import yard_answer, yard_weather

        def work(tell: Tell) -> "Answered[Any]":
            tell(0.0, _("reading the weather"))
            return yard_answer(
                yard,
                yard_weather(yard),
                today,
                system=system,
                paths=True,
                inputs={
                    "file": self.path,
                    "today": today,
                    "stacks": [],
                    "units": system,
                },
                progress=tell,
            )

        return work

    def note_reading(self, given: Mapping[str, str], entry: str) -> bool:
        """Write a reading to the log, once however often it is sent.

        Parameters
        ----------
        given : mapping of str to str
            The fields of `READING`.
        entry : str
            Names the reading: 8 to 32 hexadecimal digits.

        Returns
        -------
        bool
            Whether it was written now.

        Raises
        ------
        YardError
            When it is no reading, with what is allowed.
        """
        from emcforecast.yard.log import append_once

        yard = self.read()
        if not given.get("stack") or not given.get("value"):
            raise YardError(_("a reading needs the stack and the value; give both"))
        row: dict[str, str | None] = {name: given.get(name) for name in READING}
        row["stack"] = yard.stack(given["stack"]).name
        row["kind"] = given.get("kind") or "pin"
        row["time"] = given.get("time") or f"{datetime.now():%Y-%m-%dT%H:%M}"
        fields = fields_of(row, yard.units or self._units)
        return append_once(yard.readings, fields, entry)

    def reading_words(self, entry: str) -> tuple[str, list[str]] | None:
        """Return the reading of an entry and what it stands for, or None.

        The words are those of `emcforecast yard reading --no-forecast`.
        """
        from emcforecast.report.yard_readings import questioned_words, reading_steps
        from emcforecast.yard.log import read_log
        from emcforecast.yard.questioned import judge

        yard = self.read()
        log = read_log(yard.readings)
        row = next((r for r in log.rows if r.mark and r.mark.entry == entry), None)
        if row is None:
            return None
        system, today = self.system(yard), date.today()
        judged = judge(yard, log, today, system)
        found = next((r for r in judged.readings if r.reading.line == row.line), None)
        if found is None:
            return None
        lines = reading_steps(found, system)
        if not found.used:
            lines.insert(0, questioned_words(found, today, system))
        return f"{found.reading.stack}: {found.reading.shown}", lines

    def take_back(self, entry: str) -> bool:
        """Take a reading back; the log keeps both rows.

        Raises
        ------
        YardError
            When the log holds no such entry.
        """
        from emcforecast.yard.log import take_back

        return take_back(self.read().readings, entry)

    def add(self, given: Mapping[str, str]) -> tuple[Yard, str]:
        """Add a stack; returns the yard and the code that undoes it.

        Raises
        ------
        InputError
            When the stack is wrong; nothing is written then.
        """
        from emcforecast.dates import parse_date

        values: dict[str, object] = {name: given.get(name) or None for name in STACK}
        for name in ("sawn", "stacked", "need"):
            text = given.get(name)
            values[name] = parse_date(text) if text else None
        for name in ("target", "from_mc"):
            text = given.get(name)
            values[name] = number(name, text) if text else None
        count = given.get("count")
        if count:
            if not re.fullmatch(r"\d{1,6}", count):
                raise InputError(
                    _("count {count!r} is not a whole number; write 40", count=count)
                )
            values["count"] = int(count)
        if values["sawn"] is None and values["stacked"] is None:
            values["sawn"] = date.today()
        code, seen = self._undoable()
        return add_stack(self.path, stack_values(values), seen), code

    def move(self, stack: str, day: date, setting: str) -> tuple[Yard, str]:
        """Note that a stack was carried elsewhere; returns what undoes it too.

        Raises
        ------
        YardError
            When the yard has no such stack or place.
        """
        code, seen = self._undoable()
        return move_stack(self.path, stack, day, setting, seen), code

    def undo(self, code: str) -> Yard:
        """Put the yard file back as it stood before a change.

        Raises
        ------
        YardError
            When the file has changed since.
        """
        path = self._changes / f"{code}.json"
        if not _CHANGE.fullmatch(code) or not path.is_file():
            raise YardError(_("this change is not known any more; edit the yard file"))
        kept = json.loads(contents(path, YardError, LARGEST_CHANGE))

        def back(text: str) -> str:
            if text != kept["after"]:
                raise YardError(
                    _(
                        "{path}: has changed since; edit it by hand to undo this",
                        path=self.path,
                    )
                )
            return str(kept["before"])

        yard = edit(self.path, back)
        path.unlink(missing_ok=True)
        return yard

    def _undoable(self) -> tuple[str, Callable[[str, str], None]]:
        code = secrets.token_hex(8)

        def seen(before: str, after: str) -> None:
            self._changes.mkdir(parents=True, exist_ok=True)
            kept = json.dumps({"before": before, "after": after})
            replace(self._changes / f"{code}.json", kept.encode())
            files = sorted(
                self._changes.glob("*.json"), key=lambda p: p.stat().st_mtime
            )
            for old in files[: max(0, len(files) - MOST_CHANGES)]:
                old.unlink(missing_ok=True)

        return code, seen
