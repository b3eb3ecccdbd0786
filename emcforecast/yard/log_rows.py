"""Rows of the readings log as text: written, read back, and closed when cut short."""

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from emcforecast.errors import YardError
from emcforecast.language import _

HEADER = (
    "time",
    "stack",
    "board",
    "kind",
    "depth",
    "value",
    "wood_temperature",
    "species_setting",
    "note",
)
NEEDED = ("time", "stack", "kind", "value")
CUT = "[cut short, not used]"
NOTE_CUT = "[note cut short]"
BOM = b"\xef\xbb\xbf"
HEADER_LINE = (",".join(HEADER) + "\n").encode()
_FORMULA_SIGNS = ("=", "+", "-", "@", "'")
_MARK = re.compile(r"\[(entry|undo) ([0-9a-f]{8,32})\]\s*")
_ROW_START = re.compile(r'"?\d{4}-\d\d-\d\d')


@dataclass(frozen=True)
class Mark:
    """What stands before a note: the entry a row is, or the one it takes back.

    Parameters
    ----------
    entry : str
        8 to 32 hexadecimal digits, made where the reading was typed.
    takes_back : bool
        The row says that the entry does not count.
    """

    entry: str
    takes_back: bool = False

    def __post_init__(self) -> None:
        """Refuse what could not be found again."""
        if not re.fullmatch(r"[0-9a-f]{8,32}", self.entry):
            raise YardError(
                _(
                    "entry {entry!r}: must be 8 to 32 digits 0-9 or letters a-f.",
                    entry=self.entry[:40],
                )
            )

    @property
    def text(self) -> str:
        """As it stands in the log."""
        return f"[{'undo' if self.takes_back else 'entry'} {self.entry}]"


@dataclass(frozen=True)
class Row:
    """One whole row of the log.

    Parameters
    ----------
    line : int
        Line of the file it starts on, from 1.
    fields : Mapping of str to str
        The text under each heading; "" where the log has no such column.
    mark : Mark or None
        Which entry it is, or which it takes back.
    """

    line: int
    fields: Mapping[str, str]
    mark: Mark | None = None


@dataclass(frozen=True)
class Damaged:
    """A row that cannot be read; it stays in the file.

    Parameters
    ----------
    line : int
        Line of the file, from 1.
    text : str
        What stands there.
    reason : str
        Why it is not used, and what to do.
    """

    line: int
    text: str
    reason: str


def row_line(
    fields: Mapping[str, str], delimiter: str, mark: Mark | None = None
) -> bytes:
    """Return a row as bytes: values as they are, the mark and the note in quotes."""
    cells = []
    for heading in HEADER[:-1]:
        text = fields.get(heading, "").strip()
        if re.search(r'[\x00-\x1f,;"\x7f\x85\u2028\u2029]', text):
            raise YardError(
                _(
                    "{heading} {text!r}: commas, semicolons, quotes and line "
                    "ends have no place in it. Leave them out, or put them in "
                    "the note.",
                    heading=heading,
                    text=text,
                )
            )
        if text.startswith(("=", "+", "@")) or (
            text.startswith("-") and not re.match(r"-[\d.]", text)
        ):
            raise YardError(
                _(
                    "{heading} {text!r} starts with '{text2}', which a "
                    "spreadsheet would run as a formula. Start it with a letter "
                    "or a digit.",
                    heading=heading,
                    text=text,
                    text2=text[0],
                )
            )
        if delimiter == ";" and heading in ("depth", "value", "wood_temperature"):
            text = text.replace(".", ",")
        cells.append(text)
    note = re.sub(r"[\x00-\x1f\x7f\x85\u2028\u2029]", " ", fields.get("note", ""))
    note = " ".join(note.split()).replace('"', "″").replace(CUT, CUT.strip("[]"))
    # A note cannot pass for a mark.
    note = _MARK.sub(lambda found: f"{found[1]} {found[2]} ", note).strip()
    if note.startswith(_FORMULA_SIGNS):
        note = "'" + note
    if mark is not None:
        note = f"{mark.text} {note}".strip()
    return (delimiter.join([*cells, f'"{note}"']) + "\n").encode()


def mend_tail(data: bytes, delimiter: str, columns: int) -> bytes:
    """Return the bytes that close an unended last line, marking what is cut."""
    tail = data[data.rfind(b"\n") + 1 :].removeprefix(BOM)
    if not tail:
        return b""
    if b"\0" in tail or tail.endswith(b"\r"):
        return b"\n"
    text = tail.decode("utf-8", "replace")
    fields, quoted = _count_fields(text, delimiter)
    if fields >= columns:
        return f' {NOTE_CUT}"\n'.encode() if quoted else b"\n"
    close = '"' if quoted else ""
    rest = delimiter * (columns - fields)
    return f'{close}{rest}"{CUT}"\n'.encode()


def mended_words(mend: bytes) -> str:
    """Say what closing the last line meant for its reading."""
    if CUT.encode() in mend:
        return _(
            "the last row was cut short while it was written; it is kept, marked and "
            "not used. Enter that reading again."
        )
    if NOTE_CUT.encode() in mend:
        return _("the last row's note was cut short; its reading is whole and used.")
    return _("the last line had no end; it was closed.")


def _count_fields(text: str, delimiter: str) -> tuple[int, bool]:
    """Return (fields begun, whether a quote is still open)."""
    fields, quoted = 1, False
    for sign in text:
        if sign == '"':
            quoted = not quoted
        elif sign == delimiter and not quoted:
            fields += 1
    return fields, quoted


def record(
    lines: Sequence[bytes], number: int, headings: Sequence[str], delimiter: str
) -> tuple[int, Row | Damaged | None]:
    """Return (lines used, what stands there); blank lines are nothing."""
    raw = lines[number]
    text = raw.decode("utf-8", "replace").rstrip("\r")
    used = 1
    if not text.strip(delimiter + " \t"):
        return used, None
    if "\0" in text:
        return used, _damaged(number, text, _("holds no text: the disk lost it"))
    if _count_fields(text, delimiter)[1]:
        joined = _joined(lines, number, len(headings), delimiter)
        if joined is None:
            return used, _damaged(number, text, _("opens a quote and never closes it"))
        text, used = joined
    try:
        cells = next(csv.reader([text], delimiter=delimiter))
    except csv.Error as error:
        return used, _damaged(
            number, text, _("cannot be taken apart ({error})", error=error)
        )
    while len(cells) > len(headings) and not cells[-1].strip():
        cells.pop()
    if len(cells) != len(headings):
        reason = _(
            "has {found} fields instead of {count}: a comma in a note must stand in "
            "quotes, and empty fields keep their commas",
            found=len(cells),
            count=len(headings),
        )
        return used, _damaged(number, text, reason)
    fields = dict.fromkeys(HEADER, "") | {
        heading: cell.strip() for heading, cell in zip(headings, cells, strict=True)
    }
    if CUT in cells:
        return used, _damaged(number, text, _("was cut short while it was written"))
    found = _MARK.match(fields["note"])
    if found is not None:
        fields["note"] = fields["note"][found.end() :]
    if re.match(r"'[=+\-@']", fields["note"]):
        fields["note"] = fields["note"][1:]
    mark = None if found is None else Mark(found[2], found[1] == "undo")
    return used, Row(number + 1, fields, mark)


def _joined(
    lines: Sequence[bytes], number: int, fields: int, delimiter: str
) -> tuple[str, int] | None:
    """Return a row whose quoted note runs over line ends, as spreadsheets save it."""
    parts = [lines[number].decode("utf-8", "replace").rstrip("\r")]
    for raw in lines[number + 1 : number + 21]:
        part = raw.decode("utf-8", "replace").rstrip("\r")
        if _ROW_START.match(part):
            return None
        parts.append(part)
        count, quoted = _count_fields(" ".join(parts), delimiter)
        if not quoted:
            return (" ".join(parts), len(parts)) if count == fields else None
    return None


def _damaged(number: int, text: str, reason: str) -> Damaged:
    return Damaged(number + 1, text, reason)
