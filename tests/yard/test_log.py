"""The readings log against real kills, real writers and other programs' readers.

Outside references: RFC 4180 (CSV), read back with the standard library's csv module
and with polars; POSIX SIGKILL and file locks, through real processes.
"""

import csv
import os
import random
import subprocess
import sys
import time
from pathlib import Path

import polars as pl
import pytest

from emcforecast.errors import YardError
from emcforecast.yard.log import append, read_log
from emcforecast.yard.log_rows import HEADER

FIRST = {"time": "2026-03-01", "stack": "oak-1", "kind": "pin", "value": "24.5"}
SECOND = {
    "time": "2026-04-01T08:15",
    "stack": "oak-1",
    "board": "B2",
    "kind": "pin",
    "depth": "8 mm",
    "value": "18.5",
    "wood_temperature": "-1.5 C",
    "species_setting": "oak",
    "note": "frost, „kalt“ at 7, board 2″ thick",
}
THIRD = {"time": "2026-05-01", "stack": "oak-1", "kind": "pin", "value": "16"}

posix = pytest.mark.skipif(os.name == "nt", reason="SIGKILL and fork are POSIX")


def whole(path: Path) -> list[dict[str, str]]:
    """Read as any CSV program would: strict quoting, the header's columns."""
    with path.open(encoding="utf-8", errors="replace", newline="") as file:
        rows = list(csv.DictReader(file, strict=True))
    assert all(None not in row and None not in row.values() for row in rows)
    return rows


def values(path: Path) -> list[str]:
    return [row.fields["value"] for row in read_log(path).rows]


KILLED_AT_A_BYTE = """
import os, signal, sys
from pathlib import Path
from emcforecast.yard import log
folder, fields = Path(sys.argv[1]), eval(sys.argv[2])
real = os.write
count = int(sys.argv[3])
for stop in range(count + 1):
    child = os.fork()
    if child == 0:
        def dying(descriptor, content):
            real(descriptor, content[:stop])
            os.kill(os.getpid(), signal.SIGKILL)
        log.os.write = dying
        log.append(folder / f"{stop}.csv", fields)
        os._exit(1)
    assert os.WIFSIGNALED(os.waitpid(child, 0)[1])
"""


def kill_at_every_byte(folder: Path, fields: dict[str, str], count: int) -> None:
    done = subprocess.run(
        [sys.executable, "-c", KILLED_AT_A_BYTE, str(folder), repr(fields), str(count)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


@posix
def test_a_kill_at_any_byte_loses_at_most_the_unwritten_reading(tmp_path):
    reference = tmp_path / "reference.csv"
    append(reference, FIRST)
    before = reference.read_bytes()
    append(reference, SECOND)
    row = reference.read_bytes()[len(before) :]
    for stop in range(len(row) + 1):
        (tmp_path / f"{stop}.csv").write_bytes(before)
    kill_at_every_byte(tmp_path, SECOND, len(row))

    note_at = row.index(b'"') + 1
    for stop in range(len(row) + 1):
        path = tmp_path / f"{stop}.csv"
        torn = path.read_bytes()
        assert torn == before + row[:stop]
        kept = 1 + (stop >= note_at - 1)
        assert values(path) == ["24.5", "18.5"][:kept]
        assert len(read_log(path).damaged) == (0 < stop < note_at - 1)
        said = append(path, THIRD)
        assert bool(said) == (0 < stop < len(row))
        # Nothing that was there is gone, and the next row stands alone.
        assert path.read_bytes().startswith(torn)
        assert values(path) == [*["24.5", "18.5"][:kept], "16"]
        assert len(read_log(path).damaged) == (0 < stop < note_at - 1)
        others = whole(path)
        assert others[0]["value"] == "24.5"
        assert others[-1]["value"] == "16"
        assert len(others) == 2 + (stop > 0)


@posix
def test_a_kill_while_the_log_is_made_loses_nothing_else(tmp_path):
    reference = tmp_path / "reference.csv"
    append(reference, FIRST)
    size = len(reference.read_bytes())
    kill_at_every_byte(tmp_path, FIRST, size)
    for stop in range(size + 1):
        path = tmp_path / f"{stop}.csv"
        found = len(read_log(path).rows)
        append(path, SECOND)
        assert [*["24.5"][:found], "18.5"] == values(path)
        assert whole(path)[-1]["value"] == "18.5"


WRITER = """
import sys
from pathlib import Path
from emcforecast.yard.log import append
who, count = sys.argv[2], int(sys.argv[3])
for number in range(count):
    append(Path(sys.argv[1]), {"time": "2026-03-01", "stack": who, "kind": "pin",
           "value": str(number), "note": "wet, " * (number % 40)})
    print(number, flush=True)
"""


def writer(path: Path, who: str, count: int) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path), who, str(count)],
        stdout=subprocess.PIPE,
        text=True,
    )


def test_ten_writers_at_once_lose_nothing(tmp_path):
    path = tmp_path / "readings.csv"
    writers = [writer(path, f"w{number}", 40) for number in range(10)]
    for process in writers:
        process.communicate()
        assert process.returncode == 0
    log = read_log(path)
    assert not log.damaged
    found = [(row.fields["stack"], int(row.fields["value"])) for row in log.rows]
    assert sorted(found) == sorted((f"w{w}", n) for w in range(10) for n in range(40))
    for number in range(10):
        own = [value for who, value in found if who == f"w{number}"]
        assert own == sorted(own)
    assert len(whole(path)) == 400


@posix
def test_writers_killed_at_random_lose_no_acknowledged_row(tmp_path):
    path = tmp_path / "readings.csv"
    chance = random.Random(4)
    acknowledged: dict[str, int] = {}
    for turn in range(12):
        process = writer(path, f"k{turn}", 100_000)
        assert process.stdout is not None
        process.stdout.readline()
        time.sleep(chance.uniform(0.0, 0.03))
        process.kill()
        acknowledged[f"k{turn}"] = len(process.communicate()[0].splitlines()) + 1
    log = read_log(path)
    for who, count in acknowledged.items():
        own = [int(r.fields["value"]) for r in log.rows if r.fields["stack"] == who]
        assert own[:count] == list(range(count))
        assert len(own) - count in (0, 1)


def test_a_full_disk_leaves_the_log_as_it_was(tmp_path, monkeypatch):
    path = tmp_path / "readings.csv"
    append(path, FIRST)
    before = path.read_bytes()
    real = os.write

    def half(descriptor: int, content: bytes) -> int:
        if len(content) < 20:
            raise OSError(28, "No space left on device")
        return real(descriptor, content[: len(content) // 2])

    monkeypatch.setattr("emcforecast.yard.log.os.write", half)
    with pytest.raises(YardError, match="not written"):
        append(path, SECOND)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("note", "stored"),
    [
        ("plain", "plain"),
        ("commas, and; semicolons", "commas, and; semicolons"),
        ("two\nlines\r\nhere", "two lines here"),
        ('a 2" knot', "a 2″ knot"),
        ("=HYPERLINK(1)", "'=HYPERLINK(1)"),
        ("-5 outside", "'-5 outside"),
        ("@home", "'@home"),
        ("+1", "'+1"),
        ("tab\there\x00", "tab here"),
        ("Käse 板 \u2028 x", "Käse 板 x"),
    ],
)
def test_a_note_stands_in_one_cell_and_runs_in_no_spreadsheet(tmp_path, note, stored):
    path = tmp_path / "readings.csv"
    append(path, {**FIRST, "note": note})
    assert whole(path)[0]["note"] == stored
    assert pl.read_csv(path, infer_schema=False)["note"].to_list() == [stored]
    assert read_log(path).rows[0].fields["note"] == stored.removeprefix("'")
    assert path.read_bytes().count(b"\n") == 2


@pytest.mark.parametrize(
    "fields",
    [
        {"stack": "a,b"},
        {"stack": "=cmd"},
        {"board": "two\nlines"},
        {"board": 'quo"te'},
        {"species_setting": "@x"},
        {"value": "-x"},
    ],
)
def test_other_fields_that_would_break_the_row_are_refused(tmp_path, fields):
    path = tmp_path / "readings.csv"
    append(path, FIRST)
    before = path.read_bytes()
    with pytest.raises(YardError) as refusal:
        append(path, FIRST | fields)
    assert "\n" not in str(refusal.value)
    assert path.read_bytes() == before


def spreadsheet(text: str, encoding: str = "utf-8") -> bytes:
    return text.encode(encoding)


HEAD = ",".join(HEADER)


@pytest.mark.parametrize(
    "data",
    [
        spreadsheet(f"{HEAD}\r\n2026-03-01,oak-1,,pin,,24.5,,,\r\n", "utf-8-sig"),
        spreadsheet(
            HEAD.replace(",", ";") + "\r\n2026-03-01;oak-1;;pin;;24,5;;;\r\n",
            "utf-8-sig",
        ),
        spreadsheet(
            HEAD.replace(",", "\t") + "\n2026-03-01\toak-1\t\tpin\t\t24.5\t\t\t\n"
        ),
        spreadsheet(f'\n{HEAD},\n"2026-03-01","oak-1","","pin","","24.5","","","",\n'),
        spreadsheet("Kind,Value,Stack,Time\npin,24.5,oak-1,2026-03-01"),
        spreadsheet(
            f'{HEAD}\n2026-03-01,oak-1,,pin,,24.5,,,"two\nlines, ""here"""\n\n'
        ),
        spreadsheet(f"{HEAD}\n2026-03-01,oak-1,,pin,,24.5,,,no end"),
        spreadsheet(f"{HEAD}\n2026-03-01,oak-1,,pin,,24.5,,,"),
    ],
)
def test_a_log_saved_by_another_program_is_read(tmp_path, data):
    path = tmp_path / "readings.csv"
    path.write_bytes(data)
    log = read_log(path)
    assert not log.damaged
    assert [(r.fields["stack"], r.fields["kind"]) for r in log.rows] == [
        ("oak-1", "pin")
    ]
    assert log.rows[0].fields["value"].replace(",", ".") == "24.5"


def test_a_row_added_to_a_semicolon_file_keeps_its_ways(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_bytes(
        (HEAD.replace(",", ";") + "\r\n2026-03-01;oak-1;;pin;;24,5;;;\r\n").encode(
            "utf-8-sig"
        )
    )
    append(path, SECOND)
    assert values(path) == ["24,5", "18,5"]
    table = pl.read_csv(path, separator=";", decimal_comma=True)
    assert table["value"].to_list() == [24.5, 18.5]


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"PK\x03\x04rest", "spreadsheet's own"),
        (HEAD.encode("utf-16"), "UTF-16"),
        (b"when,stack,kind,value\n1,2,3,4\n", "no column 'time'"),
        (b"time,stack,kind,vallue\n", "Did you mean 'value'"),
        (b"time,stack,kind,value,value\n", "twice"),
        (b"\x89PNG\r\n\x1a\n\0\0", "no column"),
    ],
)
def test_a_file_that_is_no_log_is_refused_in_one_line(tmp_path, data, words):
    path = tmp_path / "readings.csv"
    path.write_bytes(data)
    for use in (read_log, lambda p: append(p, FIRST)):
        with pytest.raises(YardError, match=words) as refusal:
            use(path)
        assert "\n" not in str(refusal.value)
    assert path.read_bytes() == data


@pytest.mark.parametrize(
    "line",
    [
        "2026-03-02,oak-1,,pin,,22,,,a comma, in a note",
        "2026-03-02,oak-1,,pin",
        "\0\0\0\0",
        '2026-03-02,oak-1,,pin,,22,,,"never closed',
    ],
)
def test_a_bad_row_is_kept_named_and_does_not_hide_its_neighbours(tmp_path, line):
    path = tmp_path / "readings.csv"
    path.write_text(
        f"{HEAD}\n2026-03-01,o,,pin,,24,,,\n{line}\n2026-03-03,o,,pin,,21,,,\n"
    )
    log = read_log(path)
    assert [row.fields["value"] for row in log.rows] == ["24", "21"]
    assert [(bad.line, bad.text) for bad in log.damaged] == [(3, line)]
    assert [row.line for row in log.rows] == [2, 4]


def test_a_missing_or_empty_log_holds_nothing(tmp_path):
    assert read_log(tmp_path / "none.csv").rows == ()
    (tmp_path / "empty.csv").write_bytes(b"\n")
    assert read_log(tmp_path / "empty.csv").rows == ()
    append(tmp_path / "empty.csv", FIRST)
    assert values(tmp_path / "empty.csv") == ["24.5"]


def test_no_folder_and_no_permission_are_one_line(tmp_path):
    for path in (tmp_path / "no" / "readings.csv", tmp_path):
        with pytest.raises(YardError) as refusal:
            append(path, FIRST)
        assert "\n" not in str(refusal.value)
