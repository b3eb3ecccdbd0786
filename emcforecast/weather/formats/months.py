"""Months in a table: their names in many languages, and months across the page."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence

import numpy as np

from emcforecast._types import IntArray
from emcforecast.weather.formats.headers import plain, read_header
from emcforecast.weather.formats.table import SEPARATORS, parse_number, split_lines
from emcforecast.weather.times.stamps import MONTH_NAMES

ROMAN = ("i", "ii", "iii", "iv", "v", "vi", "vii", "viii", "ix", "x", "xi", "xii")
LETTERS = tuple("jfmamjjasond")
LANGUAGES = tuple(
    tuple(names.split())
    for names in (
        "янв фев мар апр ма июн июл авг сен окт ноя дек",
        "січ лют бер кві тра чер лип сер вер жов лис гру",
        "ян фев мар апр май юни юли авг сеп окт ное дек",
        "ιαν φεβ μαρ απρ μαι ιουν ιουλ αυγ σεπ οκτ νοε δεκ",
        "oca sub mar nis may haz tem agu eyl eki kas ara",
        "led uno bre dub kve cerven cervenec srp zar rij lis pro",
        "sij velj ozu tra svi lip srp kol ruj lis stu pro",
        "tam hel maa huh tou kes hei elo syy lok mar jou",
        "ian feb mar apr mai iun iul aug sep oct noi dec",
        "jan feb mar apr maj jun jul avg sep okt nov dec",
        "jaan veeb mar apr mai juuni juuli aug sep okt nov det",
        "sau vas kov bal geg birz liep rugp rugs spal lapk gruo",
        "jan feb mar apr mei jun jul agu sep okt nov des",
        "jan feb mar apr mai jun jul aug sep okt nov des",
        "jan fev mar avr mai juin juil aou sep oct nov dec",
    )
)
"""The beginnings of the twelve months of further languages, accents off."""
_SUM = re.compile(
    r"(ann|jahr|mean|avg|ave|tot|sum|year|min|max|mit|med|moy|ano|anno|rok|год)"
)
_LOOKED = 60
"""Lines in which the names of the months are looked for."""
_ACROSS = 40
"""Cells of a line in which January is looked for."""


def month_numbers(cells: Sequence[str]) -> IntArray:
    """Return months written as numbers or names, -1 for sums, means and the rest.

    Examples
    --------
    >>> month_numbers(["Mär", "XII", "3", "Annual", "7月"]).tolist()
    [3, 12, 3, -1, 7]
    """
    known = {cell: _month_number(cell) for cell in set(cells)}
    if any(number < 0 and not _is_sum(cell) for cell, number in known.items()):
        known |= _in_one_language(list(known))
    return np.array([known[cell] for cell in cells], dtype=np.int64)


def _is_sum(cell: str) -> bool:
    return bool(_SUM.match(cell.strip().lower())) or not cell.strip()


def _month_number(cell: str) -> int:
    text = cell.strip().lower().rstrip(".")
    if match := re.fullmatch(r"(\d{1,2})(?:\.0|\s?[月월])?", text):
        return int(match[1])
    if text in ROMAN:
        return ROMAN.index(text) + 1
    if _SUM.match(text) and not text.startswith(("mai", "maj")):
        return -1
    return MONTH_NAMES.get(text[:3], -1)


def _in_one_language(cells: Sequence[str]) -> dict[str, int]:
    """Read names by the first language that knows twelve of them."""
    bare = {cell: plain(cell) for cell in cells}
    for names in LANGUAGES:
        found = {cell: _beginning(bare[cell], names) for cell in cells}
        if len(set(found.values()) - {-1}) == len(names):
            return found
    return {}


def _beginning(text: str, names: Sequence[str]) -> int:
    """Return the number of the longest beginning that a name has, -1 for none."""
    fits = [(len(name), k + 1) for k, name in enumerate(names) if text.startswith(name)]
    return max(fits)[1] if fits else -1


def upright(text: str) -> str:
    r"""Turn a table with months across the page into one with a row a month.

    Parameters
    ----------
    text : str
        Of a file. A line of the twelve months in order, and below it a line for each
        quantity: its name, twelve values, and perhaps one of the year.

    Returns
    -------
    str
        The text as it is where no line holds the months so.

    Examples
    --------
    >>> line = "1;2;3;4;5;6;7;8;9;10;11;12"
    >>> turned = upright(f"x;I;II;III;IV;V;VI;VII;VIII;IX;X;XI;XII\nT (°C);{line}")
    >>> turned.splitlines()[:2]
    ['month;T (°C)', '1;1']
    """
    lines = [line for line in text.split("\n") if line.strip()]
    for separator in SEPARATORS:
        for at, row in enumerate(split_lines(lines[:_LOOKED], separator)):
            first = _months_begin(row)
            if first is None:
                continue
            after = len(row) - first
            below = split_lines(lines[at + 1 :], separator)
            found = _quantities(below, after)
            if found:
                return _written(lines[:at], found)
    return text


def _months_begin(row: Sequence[str]) -> int | None:
    """Return the cell of January, where the twelve months follow in order."""
    wanted = list(range(1, 13))
    for first in range(min(len(row) - 11, _ACROSS)):
        cells = [cell.strip() for cell in row[first : first + 12]]
        if month_numbers(cells).tolist() == wanted:
            return first
        if tuple(cell.lower().rstrip(".") for cell in cells) == LETTERS:
            return first
    return None


def _quantities(rows: Sequence[Sequence[str]], after: int) -> dict[str, list[str]]:
    """Return values by the name of their line; none where none names a quantity."""
    found: dict[str, list[str]] = {}
    for row in rows:
        filled = [cell.strip() for cell in row]
        while len(filled) > after + 1 and not filled[-1]:
            filled.pop()
        name = " ".join(cell for cell in filled[: len(filled) - after] if cell)
        values = filled[len(filled) - after :][:12]
        readable = [parse_number(cell)[1] != "?" for cell in values]
        if not name or len(values) < 12 or not all(readable) or name in found:
            continue
        found[name] = values
    named = any(read_header(name).quantity for name in found)
    return found if named else {}


def _written(before: Sequence[str], found: dict[str, list[str]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, delimiter=";", lineterminator="\n")
    writer.writerow(["month", *found])
    for month in range(12):
        writer.writerow([month + 1, *(values[month] for values in found.values())])
    return "\n".join([*before, out.getvalue()])
