"""`yard` and its parts through the command line."""

import csv
import json
from datetime import date
from pathlib import Path

import icalendar
import pytest
from click.testing import CliRunner, Result

from emcforecast.cli.group import cli

pytestmark = pytest.mark.usefixtures("worked_out_once")
DEMONSTRATION = Path(__file__).parents[2] / "data" / "yard" / "yard.toml"

IN_SHED = ("--thickness", "4/4", "--setting", "shed")


def run(*words: object) -> Result:
    return CliRunner().invoke(cli, ["yard", *(str(word) for word in words)])


def rows_of(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(path.read_text(encoding="utf-8").splitlines()))


@pytest.fixture(scope="module")
def weather_table(short_weather) -> str:
    table = short_weather[["air_temperature", "relative_humidity"]].to_dataframe()
    table.index.name = "time_utc"
    table.columns = ["temp_c", "rh_pct"]
    text: str = table.to_csv()
    return text


@pytest.fixture
def yard(tmp_path, weather_table) -> Path:
    """A yard file beside four years of weather of its own."""
    (tmp_path / "weather.csv").write_text(weather_table)
    path = tmp_path / "yard.toml"
    path.write_text(
        "# mine\nname = 'Mine'\nunits = 'us'\n[weather]\nfile = 'weather.csv'\n"
        "latitude = 40.2\nlongitude = -80.5\n"
    )
    added = run(
        *("add", path, "--name", "ash-1", "--species", "white ash"),
        *("--thickness", "4/4", "--sawn", "2026-03-01", "--setting", "shed"),
        *("--use", "furniture", "--need", "2027-06-01"),
        *("--count", 40, "--length", "8 ft", "--width", "10 in"),
    )
    assert added.exit_code == 0, added.output
    return path


def test_begin_add_read_and_show(yard):
    assert yard.read_text().startswith("# mine\n")
    read = run(
        *("reading", yard, "ash-1", "16", "--temperature", "50F"),
        *("--time", "2026-07-01", "--today", "2026-07-02"),
    )
    assert read.exit_code == 0, read.output
    assert "add 1.0" in read.stdout
    assert "the forecast" in read.stdout.splitlines()[0]
    shown = run(yard, "--today", "2026-07-02", "--csv", yard.with_suffix(".csv"))
    assert shown.exit_code == 0, shown.output
    assert shown.stdout.startswith("Mine, 2 July: ")
    assert max(map(len, shown.stdout.splitlines())) <= 80
    assert "does not replace a meter" in shown.stdout
    (row,) = rows_of(yard.with_suffix(".csv"))
    assert row["stack"] == "ash-1"
    assert 8.0 < float(row["mean_p50"]) < 25.0
    (logged,) = rows_of(yard.parent / "readings.csv")
    assert logged["wood_temperature"] == "50F"
    assert logged["value"] == "16"


def test_one_json_document_with_the_stable_keys(yard):
    result = run(yard, "--today", "2026-09-02", "--json")
    assert result.exit_code == 0, result.output
    document = json.loads(result.stdout)
    assert list(document) == [
        *("command", "version", "inputs", "weather", "result"),
        *("warnings", "cautions"),
    ]
    assert document["command"] == "yard"
    (stack,) = document["result"]["stacks"]
    assert set(stack["now"]) == {"mean", "shell", "core"}
    assert set(stack["now"]["mean"]) == {"p10", "p50", "p90"}
    assert [reach["mc"] for reach in stack["reaches"]] == [30.0, 20.0, 9.0]
    assert date.fromisoformat(stack["next"]["date"])
    assert stack["bring_in"]["setting"] == "indoor"


def test_the_calendar_file_updates_and_makes_no_doubles(yard):
    ics = yard.with_suffix(".ics")
    first = run("calendar", yard, "-o", ics, "--today", "2026-09-02")
    assert first.exit_code == 0, first.output
    before = icalendar.Calendar.from_ical(ics.read_bytes()).walk("VEVENT")
    uids = [str(event["UID"]) for event in before]
    assert uids
    assert len(set(uids)) == len(uids)
    assert run("calendar", yard, "-o", ics, "--today", "2026-09-10").exit_code == 0
    after = icalendar.Calendar.from_ical(ics.read_bytes()).walk("VEVENT")
    assert set(uids) <= {str(event["UID"]) for event in after}
    by_uid = {str(event["UID"]): event for event in after}
    for event in before:
        newer = by_uid[str(event["UID"])]
        assert newer["SEQUENCE"] >= event["SEQUENCE"]
        assert newer["DTSTAMP"].dt >= event["DTSTAMP"].dt
    screen = run("calendar", yard, "-o", "-", "--today", "2026-09-10")
    assert icalendar.Calendar.from_ical(screen.stdout_bytes).walk("VEVENT")


def test_a_meter_on_cold_wood_and_one_on_wet_wood(yard):
    # 12 % at 30 °F, made for 70 °F, is 14 % (Wood Handbook ch. 13); 42 is only "wet".
    said = run(
        *("reading", yard, "--stack", "ash-1", "--value", "12", "--temperature", "30F"),
        *("--time", "2026-09-01", "--today", "2026-09-02", "--no-forecast"),
    )
    assert said.exit_code == 0, said.output
    assert "Corrected: 14.0 %" in said.stdout
    wet = run(
        *("reading", yard, "ash-1", "42", "--time", "2026-03-02"),
        *("--today", "2026-09-02", "--no-forecast"),
    )
    assert "wet, above 30, no number" in wet.stdout


def test_a_doubted_reading_is_logged_and_said_to_be_so(yard):
    said = run(
        *("reading", yard, "ash-1", "15", "--time", "2026-01-01", "--no-forecast"),
    )
    assert said.exit_code == 0
    assert "questioned, kept and not used" in said.stdout.replace("\n", " ")
    assert "before it was sawn" in said.stdout.replace("\n", " ")
    assert "2026-01-01" in (yard.parent / "readings.csv").read_text()
    ahead = run(
        *("reading", yard, "ash-1", "15", "--time", "2026-08-02"),
        *("--today", "2026-08-01", "--no-forecast"),
    )
    assert "is after today" in ahead.stdout.replace("\n", " ")


def test_a_move_is_noted(yard):
    moved = run("move", yard, "ash-1", "loft", "--date", "2026-08-24")
    assert moved.exit_code == 0, moved.output
    assert 'setting = "loft"' in yard.read_text()
    assert "# mine" in yard.read_text()


def test_a_new_yard_file_begins_and_is_never_overwritten(tmp_path):
    path = tmp_path / "new.toml"
    assert run("new", path, "--name", 'The "old" mill', "--units", "si").exit_code == 0
    assert 'The \\"old\\" mill' in path.read_text()
    again = run("new", path)
    assert again.exit_code == 2
    empty = run(path)
    assert empty.exit_code == 2
    assert "yard add" in empty.stderr


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["{no}"], "no such file"),
        (["add", "{yard}", "--name", "x"], "--species"),
        (
            [
                "add",
                "{yard}",
                "--name",
                "x",
                "--species",
                "oka",
                "--thickness",
                "4/4",
                "--setting",
                "shed",
            ],
            "not known",
        ),
        (
            [
                "add",
                "{yard}",
                "--name",
                "ash-1",
                "--species",
                "ash",
                "--thickness",
                "4/4",
                "--setting",
                "shed",
            ],
            "two stacks",
        ),
        (["reading", "{yard}", "ash-2", "12"], "Did you mean 'ash-1'"),
        (["reading", "{yard}", "ash-1"], "needs the stack and the value"),
        (["reading", "{yard}", "ash-1", "12", "--kind", "pinn"], "Did you mean 'pin'"),
        (["reading", "{yard}", "ash-1", "12", "--time", "1/2/26"], "year-month-day"),
        (["move", "{yard}", "ash-1", "moon"], "not known"),
        (["move", "{yard}", "ash-1", "loft", "--date", "2020-01-01"], "in order"),
        (["{yard}", "--today", "soon"], "year-month-day"),
        (["{yard}", "--stack", "ash-9"], "Did you mean"),
        (["calendar", "{yard}", "-o", "{no}/x.ics"], "no such file or folder"),
    ],
)
def test_a_refusal_is_one_line_and_exit_2(yard, words, told):
    before = yard.read_bytes()
    names = {"yard": str(yard), "no": str(yard.parent / "none")}
    result = run(*(word.format(**names) for word in words))
    assert result.exit_code == 2, result.output
    # Progress may stand above it; the reason itself is one line.
    assert told in result.stderr.strip().splitlines()[-1]
    assert "Traceback" not in result.output
    assert yard.read_bytes() == before


def test_help_lists_the_parts():
    result = run("--help")
    assert result.exit_code == 0
    for part in ("add", "reading", "calendar", "move", "new"):
        assert part in result.stdout


def test_the_demonstration_yard_reads():
    from emcforecast.yard.file import read_yard
    from emcforecast.yard.log import read_log
    from emcforecast.yard.questioned import judge

    yard = read_yard(DEMONSTRATION)
    judged = judge(yard, read_log(yard.readings), date(2026, 11, 25), "si")
    assert len(yard.stacks) == 7
    assert not judged.unread
    assert [one.used for one in judged.readings].count(False) == 1


@pytest.mark.parametrize(
    "words",
    [
        ("12", "--temperature", "30"),
        ("12", "--depth", "8"),
        ("4.1", "--kind", "weight"),
    ],
)
def test_a_bare_number_is_not_guessed_where_no_units_are_said(yard, words):
    yard.write_text(yard.read_text().replace("units = 'us'\n", ""))
    more = ("--time", "2026-06-02", "--today", "2026-09-02", "--no-forecast")
    said = run("reading", yard, "ash-1", *words, *more)
    assert said.exit_code == 2
    assert "unit" in said.output
    told = run("reading", yard, "ash-1", *words, *more, "--units", "us")
    assert told.exit_code == 0, told.output


def test_labels_say_what_each_stack_is_and_what_is_next(yard, tmp_path):
    pages = tmp_path / "labels.pdf"
    said = run("labels", yard, "--today", "2026-09-02", "-o", pages)
    assert said.exit_code == 0, said.output
    assert "white ash" in said.stdout.lower()
    assert "Next: " in said.stdout
    assert pages.read_bytes().startswith(b"%PDF")
    again = run("labels", yard, "--today", "2026-09-02", "-o", pages)
    assert again.stdout == said.stdout
    other = run("labels", yard, "-o", tmp_path / "labels.txt")
    assert other.exit_code == 2
    assert len(other.stderr.strip().splitlines()) == 1
