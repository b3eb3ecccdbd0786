"""The yard file: what is allowed, one-line refusals, comments kept, whole writes.

Outside references: TOML 1.0 through the standard library's tomllib; the schema and
its example are the project's own design (no outside source).
"""

import datetime as dt
import json
import os
import subprocess
import sys
import tomllib

import pytest

from emcforecast.errors import InputError, YardError
from emcforecast.forecast.targets import target_for_use, uses
from emcforecast.yard.file import add_stack, move_stack, read_yard

WHOLE = """\
# Kalvenau, kept by hand
units = "us"            # inches and pounds

[weather]
file = "demo"

[setting.shed]
kind = "loft"           # slatted gables
roof = "metal"

[[stack]]
name = "oak-1"
species = "white oak"
thickness = "8/4"
sawn = 2025-04-01
setting = "shed"
use = "furniture"
need = 2027-01-15
moved = [
    { date = 2025-09-01, setting = "indoor" },  # before the rains
]
boards = { count = 40, length = "8 ft", width = 10 }
samples = [{ board = "A", weight = "4.46 lb", mc = 62.2 }]

# --- woods of my own ---
[species."hedge apple"]
basic_gravity = 0.76
"""

STACK = """
[[stack]]
name = "s"
species = "white oak"
thickness = "4/4"
sawn = 2025-04-01
setting = "shed"
"""


@pytest.fixture
def yard(tmp_path):
    path = tmp_path / "yard.toml"
    path.write_text(WHOLE)
    return path


def test_the_sizes_of_a_board(tmp_path):
    """Its own keys first, else those of the boards counted, else a typical board's."""
    path = tmp_path / "yard.toml"
    counted = 'boards = {count = 2, length = "8 ft", width = "10 in"}\n'
    for keys, sizes in (
        ("", (27.0, 175.0, 2400.0)),
        (counted, (27.0, 254.0, 2438.4)),
        (counted + "width = '100 mm'\n", (27.0, 100.0, 2438.4)),
        ("length = 330\n", (27.0, 175.0, 330.0)),
    ):
        path.write_text(STACK + keys)
        assert read_yard(path).stack("s").board.sizes_mm == pytest.approx(sizes)


def test_every_key_arrives(yard):
    found = read_yard(yard)
    assert (found.units, found.weather.file) == ("us", "demo")
    assert found.settings["shed"].kind == "loft"
    assert found.settings["shed"].parameters["roof"] == "metal"
    assert found.settings["indoor"].kind == "house"
    assert found.readings == yard.parent / "readings.csv"
    stack = found.stack("OAK-1")
    assert stack.species.name == "oak, white"
    assert stack.thickness.nominal == "8/4"
    assert (stack.stacked, stack.need) == (dt.date(2025, 4, 1), dt.date(2027, 1, 15))
    assert stack.setting_on(dt.date(2025, 8, 31)) == "shed"
    assert stack.setting_on(dt.date(2025, 9, 1)) == "indoor"
    assert stack.boards is not None
    assert stack.boards.length_mm == pytest.approx(8 * 304.8)
    assert stack.boards.width_mm == pytest.approx(254)
    # Worked example of a sample board: 4.46 lb at 62.2 % is 2.75 lb oven dry
    # (USDA AH-188 method; example from memory).
    sample = stack.sample("A")
    assert sample is not None
    assert sample.dry_kg / 0.45359237 == pytest.approx(2.75, abs=0.005)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("units = 'metric'", "units 'metric' is not known.*us, si"),
        ("untis = 'us'", "'untis' is not a key.*Did you mean 'units'"),
        ("region = 'mars'", "region 'mars' is not known"),
        ("have = ['shed', 'lofft']", "setting 'lofft'.*Did you mean 'loft'"),
        ("weather = 3", r"\[weather\].*must be a table"),
        ("[weather]\nfile = 'a'\narchive = 'b'", "not both"),
        ("[weather]\narchive = 'open-meteo'", r"place = \[latitude, longitude\]"),
        ("[weather]\narchive = 'x'\nplace = [95, 0]", "latitude = 95"),
        ("[weather]\nfile = 'a'\nfle = 'b'", "Did you mean 'file'"),
        ("[setting.attic2]", "say what it is"),
        ("[setting.shed]\nkind = 'lfot'", "kind 'lfot' is not known.*'loft'"),
        ("[setting.shed]\nheigth = 3", "no parameter 'heigth'.*'height'"),
        ("[setting.shed]\nheight = true", "must be a number or a word"),
        ("[species.x]\nbasic_gravity = 7", "basic_gravity = 7"),
        ("stack = 3", "must be a list of tables"),
        ("[[stack]]\nspecies = 'oak'", "stack 1 has no name"),
        (STACK + STACK.replace('"s"', '"S"'), "two stacks are named 'S'"),
        (STACK.replace("white oak", "wite oka"), "'wite oka' is not known"),
        (STACK.replace("4/4", "4"), "no unit"),
        (STACK.replace('"4/4"', "true"), "thickness"),
        ("units = 'us'\n" + STACK.replace('"4/4"', "2"), "has no unit"),
        (STACK.replace('"shed"', '"shde"'), "Did you mean 'shed'"),
        (STACK.replace("sawn = 2025-04-01", ""), "has no date"),
        (STACK.replace("2025-04-01", '"4/1/2025"'), "year-month-day"),
        (STACK.replace("2025-04-01", "205-04-01"), "cannot be read as TOML"),
        (STACK.replace("2025-04-01", "0205-04-01"), "check the date"),
        (STACK + "stacked = 2025-03-01", "stacked 2025-03-01 is before sawn"),
        (STACK + "need = 2025-03-01", "need 2025-03-01 is before"),
        (STACK + "use = 'furnitur'", "Did you mean 'furniture'"),
        (STACK + "target = 85", "target = 85 must be a number from 2 to 30"),
        (STACK + "from_mc = '30'", "from_mc = '30' must be a number"),
        (STACK + "moved = [{date = 2024-01-01, setting = 'loft'}]", "in order of date"),
        (STACK + "moved = [{setting = 'loft'}]", "each move needs both"),
        (STACK + "moved = 'loft'", "list of tables"),
        (STACK + "boards = {count = 0, length = 1, width = 1}", "count = 0"),
        (STACK + "boards = {count = 2, length = 1}", "width is missing"),
        (STACK + "width = true", "width is missing or no length"),
        (STACK + "width = '20 mm'", "a width of 20 mm cannot be"),
        (STACK + "samples = [{board = 'A'}]", "needs its weight"),
        (STACK + "thicknes = '4/4'", "Did you mean 'thickness'"),
        (STACK.replace('"s"', '"a,b"'), "cannot be a name"),
        (STACK.replace('"s"', '"=1"'), "formula"),
        ("a = \n", "cannot be read as TOML.*line 1"),
        ("\x89PNG\0", "TOML"),
    ],
)
def test_what_is_wrong_is_one_line_naming_file_and_remedy(tmp_path, text, words):
    path = tmp_path / "yard.toml"
    path.write_text(text)
    with pytest.raises(YardError, match=words) as refusal:
        read_yard(path)
    assert "\n" not in str(refusal.value)
    assert str(path) in str(refusal.value)


def test_a_missing_file_and_latin_1_are_one_line(tmp_path):
    for name, content in [("no.toml", None), ("latin.toml", b"# K\xe4se")]:
        if content is not None:
            (tmp_path / name).write_bytes(content)
        with pytest.raises(YardError) as refusal:
            read_yard(tmp_path / name)
        assert "\n" not in str(refusal.value)


NEW = {
    "name": "poplar-2",
    "species": "yellow-poplar",
    "thickness": "4/4",
    "sawn": dt.date(2026, 5, 2),
    "setting": "shed",
}


@pytest.mark.parametrize(
    "text",
    [
        WHOLE,
        WHOLE.rstrip("\n"),
        WHOLE.replace("\n", "\r\n"),
        "",
        "\ufeff" + WHOLE,
        STACK
        + "# end\n[species.x]\nbasic_gravity = 0.5\n"
        + STACK.replace('"s"', '"t"'),
    ],
)
def test_adding_a_stack_leaves_every_byte_that_was_there(tmp_path, text):
    path = tmp_path / "yard.toml"
    path.write_bytes(text.encode())
    before = path.read_bytes()
    yard = add_stack(path, NEW)
    after = path.read_bytes()
    assert after.startswith(before)
    assert (b"\r\n" in before) == (b"\r\n" in after)
    assert b"\n" not in after.replace(b"\r\n", b"") or b"\r\n" not in before
    parsed = tomllib.loads(after.decode("utf-8-sig").replace("\r\n", "\n"))
    assert parsed["stack"][-1] == NEW
    assert yard.stacks[-1].name == "poplar-2"
    with pytest.raises(YardError, match="two stacks"):
        add_stack(path, NEW)
    assert path.read_bytes() == after


def test_a_bad_stack_is_not_added(yard):
    before = yard.read_bytes()
    for change in ({"species": "oka"}, {"sawn": "soon"}, {"setting": "moon"}):
        with pytest.raises(InputError):
            add_stack(yard, NEW | change)
    assert yard.read_bytes() == before
    assert sorted(p.suffix for p in yard.parent.iterdir()) == [".lock", ".toml"]


def test_a_move_keeps_the_comments_in_and_around_its_stack(yard):
    before = yard.read_text()
    move_stack(yard, "oak-1", dt.date(2026, 1, 5), "loft")
    after = yard.read_text()
    for line in before.splitlines():
        assert line.strip() in after
    assert after.endswith(before[before.index("# --- woods") :])
    assert tomllib.loads(after)["stack"][0]["moved"] == [
        {"date": dt.date(2025, 9, 1), "setting": "indoor"},
        {"date": dt.date(2026, 1, 5), "setting": "loft"},
    ]


def test_a_first_move_and_a_move_between_stacks(tmp_path):
    path = tmp_path / "yard.toml"
    second = STACK.replace('"s"', '"t"')
    path.write_text(STACK + "# about the next\n" + second + "\n# end\n")
    move_stack(path, "s", dt.date(2025, 6, 1), "loft")
    found = read_yard(path)
    assert [m.setting for m in found.stack("s").moves] == ["loft"]
    assert found.stack("t").moves == ()
    assert path.read_text().endswith("# about the next\n" + second + "\n# end\n")
    with pytest.raises(YardError, match="in order of date"):
        move_stack(path, "s", dt.date(2025, 1, 1), "shed")


def test_a_link_and_the_permissions_stay(tmp_path):
    real = tmp_path / "real.toml"
    real.write_text(WHOLE)
    real.chmod(0o640)
    link = tmp_path / "yard.toml"
    link.symlink_to(real)
    add_stack(link, NEW)
    assert link.is_symlink()
    assert real.stat().st_mode & 0o777 == 0o640
    assert len(read_yard(real).stacks) == 2


ADDS = """
import json, sys
from emcforecast.yard.file import add_stack
add_stack(sys.argv[1], json.loads(sys.argv[2]))
"""


def test_ten_at_once_add_ten_stacks(yard):
    stacks = [json.dumps(NEW | {"name": f"p{n}"}, default=str) for n in range(10)]
    workers = [
        subprocess.Popen([sys.executable, "-c", ADDS, str(yard), stack])
        for stack in stacks
    ]
    for worker in workers:
        assert worker.wait() == 0
    names = {stack.name for stack in read_yard(yard).stacks}
    assert names == {"oak-1", *(f"p{n}" for n in range(10))}


DIES = """
import os, signal, sys
from pathlib import Path
from emcforecast.yard import file
from emcforecast import files as safe
stop = sys.argv[2]
def dying(*a, **k): os.kill(os.getpid(), signal.SIGKILL)
if stop == "write": safe.os.fsync = dying
else: Path.replace = dying
file.add_stack(sys.argv[1], {"name": "x", "species": "white oak", "thickness": "4/4",
               "sawn": "2026-01-01", "setting": "shed"})
"""


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL is POSIX")
@pytest.mark.parametrize("stop", ["write", "rename"])
def test_a_kill_before_the_rename_leaves_the_old_file(yard, stop):
    before = yard.read_bytes()
    done = subprocess.run(
        [sys.executable, "-c", DIES, str(yard), stop], capture_output=True, check=False
    )
    assert done.returncode == -9, done.stderr
    assert yard.read_bytes() == before
    add_stack(yard, NEW)
    assert len(read_yard(yard).stacks) == 2


LOGGER = {
    "format": "emcforecast calibration",
    "setting": "shed",
    "kind": "loft",
    "parameters": {"ventilation": 7.5},
    "likely": {"ventilation": [6.0, 9.0]},
}


def test_a_logger_calibration_makes_the_setting(tmp_path):
    (tmp_path / "loft.json").write_text(json.dumps(LOGGER))
    path = tmp_path / "yard.toml"
    path.write_text("[setting.'hay loft']\ncalibration = 'loft.json'\nroof = 'metal'\n")
    setting = read_yard(path).settings["hay loft"]
    assert (setting.name, setting.kind) == ("shed", "loft")
    assert setting.values()["ventilation"] == 7.5
    assert setting.values()["roof"] == "metal"
    assert setting.likely_range("ventilation") == (6.0, 9.0)
    for text, words in [
        ("kind = 'barn'\ncalibration = 'loft.json'", "made for kind 'loft'"),
        ("calibration = 'none.json'", "none.json"),
    ]:
        path.write_text(f"[setting.shed]\n{text}\n")
        with pytest.raises(YardError, match=words) as refusal:
            read_yard(path)
        assert "\n" not in str(refusal.value)


def test_every_use_of_the_command_line_is_one_of_the_yard():
    assert "garden-furniture" in uses()
    for use in uses():
        assert target_for_use(use).high > 0.0
