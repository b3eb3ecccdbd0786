"""Damage to bytes, text, tables and JSON, chosen by a seeded generator."""

import io
import json
import random
import shlex
import zipfile
from typing import Any
from urllib.parse import quote

ODD_TEXTS = (
    *("", " ", "-", "nan", "inf", "-inf", "1e999", "9" * 5000, "0", "-0", "null"),
    *("NaN", "-9999", "99999", "1,5", "1.5.5", "2024-13-01", "0000-00-00 00:00"),
    *("2021-02-29 00:00", "9999-12-31 23:59", "31/12/2021", "\x1b[31mred\x1b[0m"),
    *("\u202e", "\ufeff", "\x00", "=1+1", "'", '"', "'''", "💧", "é", "½", "1/0", "%s"),
    *("{}", "[", "..", "/dev/zero", "a" * 300, "🌲" * 200, "1e5", "0x10", "1_000"),
)
ODD_VALUES: tuple[Any, ...] = (
    *(
        None,
        True,
        False,
        0,
        -1,
        1,
        10**6,
        10**9,
        1e308,
        -1e308,
        10**400,
        2**63,
        1.5,
        -0.0,
    ),
    *("", "x", "nan", [], {}, [[]], [None], {"a": 1}, "2021-01-01T00:00", [1, "a"]),
    *(float("nan"), float("inf"), [[[[]]]], {"": {}}, "9" * 5000, "\x1b[2J"),
)


def json_nodes(document: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Return the path of every node of a JSON document."""
    found = [path]
    if isinstance(document, dict):
        for key, value in document.items():
            found += json_nodes(value, (*path, key))
    elif isinstance(document, list):
        for index, value in enumerate(document[:12]):
            found += json_nodes(value, (*path, index))
    return found


def with_node(document: Any, path: tuple[Any, ...], value: Any) -> Any:
    """Return a copy of a document with one node replaced."""
    if not path:
        return value
    copy = dict(document) if isinstance(document, dict) else list(document)
    copy[path[0]] = with_node(document[path[0]], path[1:], value)
    return copy


def without_node(document: Any, path: tuple[Any, ...]) -> Any:
    """Return a copy of a document with one node taken out."""
    if not path:
        return {}
    copy = dict(document) if isinstance(document, dict) else list(document)
    if len(path) == 1:
        del copy[path[0]]
    else:
        copy[path[0]] = without_node(document[path[0]], path[1:])
    return copy


def damaged_json(rng: random.Random, data: bytes) -> bytes:
    """Replace, remove or move nodes of a JSON document."""
    try:
        document = json.loads(data)
    except (ValueError, RecursionError):
        return damaged_bytes(rng, data)
    for _ in range(rng.choice((1, 1, 1, 2, 4))):
        path = rng.choice(json_nodes(document))
        how = rng.random()
        if how < 0.2:
            document = without_node(document, path)
        elif how < 0.3:
            other = rng.choice(json_nodes(document))
            value: Any = document
            for step in other:
                value = value[step]
            document = with_node(document, path, value)
        else:
            document = with_node(document, path, rng.choice(ODD_VALUES))
    text = json.dumps(document)
    if rng.random() < 0.03:
        text = "[" * 20_000 + text
    return (b"\xef\xbb\xbf" if rng.random() < 0.05 else b"") + text.encode()


def damaged_bytes(rng: random.Random, data: bytes) -> bytes:
    """Flip, cut, repeat or insert bytes."""
    out = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 3, 8))):
        if not out:
            break
        at = rng.randrange(len(out))
        how = rng.randrange(7)
        if how == 0:
            out[at] ^= 1 << rng.randrange(8)
        elif how == 1:
            out[at] = rng.randrange(256)
        elif how == 2:
            del out[at : at + rng.choice((1, 2, 16, 300))]
        elif how == 3:
            del out[at:]
        elif how == 4:
            piece = out[at : at + rng.choice((1, 16, 200))]
            out[at:at] = piece * rng.choice((1, 2, 20))
        elif how == 5:
            out[at:at] = bytes(rng.randrange(256) for _ in range(rng.choice((1, 4))))
        else:
            out[at : at + 4] = rng.choice((b"\xff" * 4, b"\0" * 4, b"\x7f\xff\xff\xff"))
    return bytes(out)


def damaged_text(rng: random.Random, data: bytes) -> bytes:
    """Damage a table or a list of keys: its cells, lines, separators, encoding."""
    text = data.decode("utf-8", "replace")
    lines = text.split("\n")
    for _ in range(rng.choice((1, 1, 2, 3))):
        at = rng.randrange(len(lines))
        how = rng.randrange(12)
        separator = max(",;\t|= ", key=lines[at].count)
        cells = lines[at].split(separator)
        if how <= 3:
            cells[rng.randrange(len(cells))] = rng.choice(ODD_TEXTS)
            lines[at] = separator.join(cells)
        elif how == 4:
            cells.insert(rng.randrange(len(cells) + 1), rng.choice(ODD_TEXTS))
            lines[at] = separator.join(cells)
        elif how == 5 and len(cells) > 1:
            del cells[rng.randrange(len(cells))]
            lines[at] = separator.join(cells)
        elif how == 6:
            lines.insert(at, lines[rng.randrange(len(lines))])
        elif how == 7:
            del lines[at]
            lines = lines or [""]
        elif how == 8:
            column, put = rng.randrange(len(cells)), rng.choice(ODD_TEXTS)
            for row in range(at, len(lines)):
                parts = lines[row].split(separator)
                if column < len(parts):
                    parts[column] = put
                    lines[row] = separator.join(parts)
        elif how == 9:
            put = rng.choice(";\t|, ")
            lines = [line.replace(separator, put) for line in lines]
        elif how == 10:
            rng.shuffle(lines)
        else:
            lines[at] = lines[at][: rng.randrange(len(lines[at]) + 1)]
    end = rng.choice(("\n",) * 8 + ("\r\n", "\r", "\n\n"))
    codec = rng.choice(("utf-8",) * 10 + ("utf-16", "utf-8-sig", "cp1252"))
    out = end.join(lines).encode(codec, "replace")
    return damaged_bytes(rng, out) if rng.random() < 0.1 else out


def damaged_words(rng: random.Random, data: bytes) -> bytes:
    """Replace, double or drop a word of a command line."""
    try:
        words = shlex.split(data.decode("utf-8", "replace"))
    except ValueError:
        return damaged_bytes(rng, data)
    for _ in range(rng.choice((1, 1, 2))):
        at = rng.randrange(1, max(2, len(words)))
        how = rng.randrange(4)
        if how <= 1:
            words[at : at + 1] = [rng.choice(ODD_TEXTS)]
        elif how == 2:
            words[at : at + 1] = words[at : at + 1] * 2
        else:
            del words[at : at + 1]
    text = " ".join(shlex.quote(word) for word in words).encode()
    return damaged_bytes(rng, text) if rng.random() < 0.2 else text


def damaged_value(rng: random.Random, data: bytes) -> bytes:
    """Damage the text after "KIND|": its signs, its words, or all of it."""
    kind, bar, text = data.decode("utf-8", "replace").partition("|")
    for _ in range(rng.choice((1, 1, 2, 3))):
        at = rng.randrange(len(text) + 1)
        how = rng.randrange(7)
        if how == 0:
            text = text[:at] + rng.choice(ODD_TEXTS) + text[at:]
        elif how == 1:
            text = text[:at] + rng.choice("0123456789 .,/-:=+'\"″′°½¼") + text[at:]
        elif how == 2:
            text = text[:at] + text[at + rng.choice((1, 1, 3)) :]
        elif how == 3:
            text = text[:at] + chr(rng.choice((rng.randrange(1, 0x250), 0x2026, 0x660)))
        elif how == 4:
            text = text[:at] + text[at:] * rng.choice((2, 2, 50))
        elif how == 5:
            text = rng.choice((text.upper(), text.swapcase(), f" {text} ", text[::-1]))
        else:
            text = rng.choice(ODD_TEXTS)
    return f"{kind}{bar}{text}".encode("utf-8", "replace")


def damaged_form(rng: random.Random, data: bytes) -> bytes:
    """Damage a value of "PAGE?NAME=VALUE&…", put one in twice, or leave one out."""
    page, mark, text = data.decode("utf-8", "replace").partition("?")
    fields = text.split("&")
    for _ in range(rng.choice((1, 1, 2, 4))):
        at = rng.randrange(len(fields))
        name, equals, value = fields[at].partition("=")
        how = rng.randrange(6)
        if how <= 2:
            held = damaged_value(rng, f"x|{value}".encode()).decode()[2:]
            fields[at] = f"{name}{equals}{quote(held)}"
        elif how == 3:
            fields[at] = f"{name}={quote(rng.choice(ODD_TEXTS))}"
        elif how == 4:
            fields.append(rng.choice(fields))
        elif len(fields) > 1:
            del fields[at]
    return f"{page}{mark}{'&'.join(fields)}".encode("utf-8", "replace")


def damaged_store(rng: random.Random, data: bytes) -> bytes:
    """Damage files of a zarr store in a zip: what they say, what they hold, or lose."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            held = {info.filename: archive.read(info) for info in archive.infolist()}
    except (zipfile.BadZipFile, OSError, NotImplementedError, RuntimeError, ValueError):
        return damaged_bytes(rng, data)
    if not held or rng.random() < 0.05:
        return damaged_bytes(rng, data)
    for _ in range(rng.choice((1, 1, 2))):
        name = rng.choice(sorted(held))
        about = name.rpartition("/")[2] in (*ABOUT, "zarr.json")
        how = rng.random()
        if how < 0.1 and len(held) > 1:
            del held[name]
        elif how < 0.15:
            held[name] = held[rng.choice(sorted(held))]
        elif about and how < 0.9:
            held[name] = damaged_json(rng, held[name])
        else:
            held[name] = damaged_bytes(rng, held[name])
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as archive:
        for name, content in held.items():
            archive.writestr(zipfile.ZipInfo(name), content)
    return out.getvalue()


ABOUT = (".zgroup", ".zarray", ".zattrs", ".zmetadata")
_WHOLE = {
    "words": damaged_words,
    "value": damaged_value,
    "form": damaged_form,
    "store": damaged_store,
}


def damaged(rng: random.Random, data: bytes, how: str) -> bytes:
    """Damage data of a kind: "json", "text", "bytes" or one of `_WHOLE`."""
    if how in _WHOLE:
        return _WHOLE[how](rng, data)
    if rng.random() < 0.15:
        return damaged_bytes(rng, data)
    if how == "json":
        return damaged_json(rng, data)
    return damaged_text(rng, data) if how == "text" else damaged_bytes(rng, data)
