"""`plan` from the command line: what an expert expects, in monthly climates."""

import csv
import json
import re
from datetime import date, timedelta
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.cli.plan import _places as places_of

pytestmark = pytest.mark.usefixtures("worked_out_once")

# Monthly °C and % RH of four invented climates and what an expert expects of wood in
# them: common practice, no source.
CLIMATES = {
    "valley": (
        38,
        [1, 3, 8, 14, 18, 23, 25, 24, 20, 14, 8, 3],
        [72, 69, 66, 65, 70, 73, 75, 77, 78, 75, 73, 73],
    ),
    "continental": (
        45,
        [-11, -9, -3, 5, 12, 17, 20, 18.5, 13, 7, -1, -8],
        [75, 73, 71, 66, 67, 70, 71, 74, 77, 76, 79, 79],
    ),
    "maritime": (
        52,
        [5, 5, 6.5, 9, 12, 15, 17, 17, 14.5, 11, 7.5, 5],
        [87, 84, 80, 76, 75, 75, 75, 77, 80, 84, 87, 88],
    ),
    "desert": (
        36,
        [-1, 2, 6, 10, 16, 21, 25, 24, 19, 12, 5, 0],
        [62, 52, 42, 34, 31, 27, 32, 36, 37, 42, 53, 62],
    ),
}


@pytest.fixture(scope="module")
def climates(tmp_path_factory: Any) -> dict[str, list[str]]:
    folder = tmp_path_factory.mktemp("climates")
    words = {}
    for name, (latitude, t, h) in CLIMATES.items():
        rows = [f"{m},{a},{b}" for m, (a, b) in enumerate(zip(t, h, strict=True), 1)]
        file = folder / f"{name}.csv"
        head = "month,temperature (C),relative humidity (%)"
        file.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
        words[name] = [str(file), "--latitude", str(latitude)]
    return words


def run(*words: str) -> Any:
    result = CliRunner().invoke(cli, ["plan", *words])
    assert result.exit_code == 0, result.output
    return result


@cache
def ask(*words: str) -> dict[str, Any]:
    answer: dict[str, Any] = json.loads(run(*words, "--json").stdout)["result"]
    return answer


@cache
def read(*words: str) -> str:
    said: str = run(*words).stdout
    return said


def stack(species: str, thickness: str, stacked: str, days: int) -> list[str]:
    """Wood, stacking date, and a need date so many days later."""
    need = date.fromisoformat(stacked) + timedelta(days)
    words = ["--species", species, "--thickness", thickness]
    return [*words, "--stacked", stacked, "--need", need.isoformat()]


@pytest.mark.parametrize(
    ("climate", "wood", "too_soon", "enough"),
    [
        ("valley", ("white oak", "4/4", "2026-04-01"), 80, 130),
        ("valley", ("white oak", "4/4", "2026-10-01"), 150, 250),
        ("valley", ("white oak", "8/4", "2026-04-01"), 304, 487),
        ("valley", ("yellow-poplar", "4/4", "2026-05-01"), 30, 60),
        ("continental", ("sugar maple", "4/4", "2026-05-01"), 45, 75),
        ("continental", ("sugar maple", "4/4", "2026-09-01"), 120, 220),
        ("maritime", ("European oak", "54 mm", "2026-04-01"), 426, 731),
    ],
)
def test_20_percent_is_likely_by_the_end_of_what_an_expert_expects(
    climates: Any, climate: str, wood: Any, too_soon: int, enough: int
) -> None:
    where = ("--have", "stack-roof", "--target", "20")
    early = ask(*climates[climate], *stack(*wood, too_soon), *where)
    late = ask(*climates[climate], *stack(*wood, enough), *where)
    assert early["probability_by_need"] <= 0.5 <= late["probability_by_need"]
    # Where it is not to be had in time, it says when it is.
    begun = date.fromisoformat(wood[2])
    first = date.fromisoformat(early["earliest_even_chance"]["ready"])
    assert too_soon < (first - begun).days <= enough


def test_furniture_is_finished_indoors_in_the_valley(climates: Any) -> None:
    words = (*climates["valley"], *stack("white oak", "4/4", "2026-04-01", 700))
    found = ask(*words, "--use", "furniture", "--have", "stack-roof,loft,indoor")
    assert found["route"][-1]["setting"] == "indoor"
    assert found["probability_by_need"] > 0.9
    assert found["feasible"]["outdoor"]["probability"] == 0.0
    assert found["feasible"]["indoor"]["not_advised"]
    # Never 12 % or less under a roof there.
    twelve = ask(*words, "--target", "12", "--have", "stack-roof")
    assert twelve["probability_by_need"] < 0.25


def test_16_is_not_promised_by_the_sea(climates: Any) -> None:
    words = (*climates["maritime"], *stack("European oak", "54 mm", "2026-04-01", 731))
    found = ask(*words, "--target", "16", "--have", "stack-roof")
    assert found["probability_by_need"] < 0.5
    assert found["earliest"] is None


def test_a_sunny_loft_is_a_window_with_a_weight_on_its_floor(climates: Any) -> None:
    wood = "sugar maple", "4/4", "2026-05-01"
    have = ("--have", "shed", "--setting", "shed=loft,roof=metal", "--target", "11")
    summer = ask(*climates["continental"], *stack(*wood, 450), *have)
    winter = ask(*climates["continental"], *stack(*wood, 590), *have)
    assert summer["probability_by_need"] > 0.75
    assert winter["probability_by_need"] < 0.5
    said = run(*climates["continental"], *stack(*wood, 590), *have).stdout
    assert "takes moisture up again" in said
    assert "Stacks are heavy: ask a licensed engineer what a floor bears." in said


def test_in_the_desert_it_dries_fast_and_checks(climates: Any) -> None:
    wood = stack("red oak", "4/4", "2026-06-01", 120)
    found = ask(*climates["desert"], *wood, "--use", "furniture")
    assert found["probability_by_need"] > 0.5
    assert any("checks" in risk for risk in found["risks"])


class TestWhatCannotBeHad:
    """The valley's house is at 9 to 10 % in November: too damp for furniture."""

    wood = stack("white oak", "4/4", "2026-04-01", 593)
    use = ("--use", "furniture")

    def test_it_says_why_and_when_instead(self, climates: Any) -> None:
        found = ask(*climates["valley"], *self.wood, *self.use)
        assert found["probability_by_need"] < 0.5
        assert found["rest_by_need"] > 9.0
        first = found["earliest"]
        assert "2027-11-15" < first["ready"] < "2028-03-01"
        assert first["bring_in_by"] < first["ready"]
        assert first["probability"] >= 0.9
        assert first["route"][-1]["from"] == first["bring_in_by"]
        text = read(*climates["valley"], *self.wood, *self.use)
        assert "The place is in the way, not the time" in text
        assert "What comes nearest by then" in text

    def test_it_points_to_the_range_of_a_damper_region(self, climates: Any) -> None:
        # 8 to 13 % on damp warm coasts (Wood Handbook Table 13-2).
        text = " ".join(read(*climates["valley"], *self.wood, *self.use).split())
        assert "--region us-damp-coast asks for 8 to 13 %" in text
        asked = ask(*climates["valley"], *self.wood, *self.use, "--region", "us")
        assert asked["target"]["high"] == 8

    def test_thin_boards_are_no_help_where_the_place_is_too_damp(
        self, climates: Any
    ) -> None:
        """Boards at rest are as moist thick or thin."""
        wood = stack("yellow-poplar", "4/4", "2026-04-01", 500)
        words = (*wood, "--target", "8", "--have", "stack-roof")
        text = " ".join(read(*climates["maritime"], *words).split())
        assert "The place is in the way" in text
        assert "another place or another use" in text
        assert "thinner" not in text

    def test_asking_for_that_day_gives_that_plan(self, climates: Any) -> None:
        first = ask(*climates["valley"], *self.wood, *self.use)["earliest"]
        words = [*self.wood[:-1], first["ready"], *self.use]
        again = ask(*climates["valley"], *words)
        assert again["probability_by_need"] >= 0.9
        # The same last move, to within the week that both searches step by.
        days = [
            date.fromisoformat(d) for d in (first["bring_in_by"], again["bring_in_by"])
        ]
        assert abs((days[0] - days[1]).days) <= 7

    def test_without_rain_in_the_file_the_open_is_not_recommended(
        self, climates: Any
    ) -> None:
        found = ask(*climates["valley"], *self.wood, *self.use)
        assert found["route"][0]["setting"] == "shed"
        assert "rain" in found["feasible"]["outdoor"]["not_advised"]
        legs = found["earliest"]["route"]
        assert [leg["setting"] for leg in legs] == ["shed", "indoor"]

    def test_one_year_is_not_told_as_years(self, climates: Any) -> None:
        text = read(*climates["valley"], *self.wood, *self.use)
        assert "years in 100" not in text
        assert re.search(r"\d+ in 100", text)


def test_it_fits_a_phone(climates: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    words = (*climates["valley"], *stack("white oak", "4/4", "2026-04-01", 593))
    monkeypatch.setenv("COLUMNS", "40")
    lines = run(*words, "--use", "furniture", "--units", "us").stdout.splitlines()
    assert max(len(line) for line in lines) <= 40


def test_the_document_is_complete() -> None:
    words = ("demo", *stack("white oak", "8/4", "2026-04-01", 500))
    document = json.loads(run(*words, "--use", "furniture", "--json").stdout)
    found = document["result"]
    assert set(found) >= {
        *("feasible", "route", "bring_in_by", "acclimate_days", "ready"),
        *("probability_by_need", "risks"),
    }
    assert set(found["acclimate_days"]) == {"p50", "p90"}
    assert set(found["ready"]) == {"p10", "p50", "p90"}
    # In a humid temperate climate furniture wood is finished indoors (common
    # practice, no source): no airy place alone reaches 9 %.
    assert found["feasible"]["outdoor"]["probability"] < 0.05
    assert found["feasible"]["shed"]["probability"] < 0.05
    assert found["route"][-1]["setting"] == "indoor"
    assert found["route"][0]["from"] == "2026-04-01"
    assert [leg["to"] for leg in found["route"]][:-1] == [
        leg["from"] for leg in found["route"]
    ][1:]
    assert all(0 <= p["probability"] <= 1 for p in found["bring_in_curve"])
    assert document["weather"]["kind"] == "demonstration"


def test_files_are_written_and_daily(tmp_path: Path) -> None:
    table, picture = tmp_path / "curve.csv", tmp_path / "curve.svg"
    words = ("demo", *stack("yellow-poplar", "4/4", "2026-05-01", 276))
    out = ("--csv", str(table), "--plot", str(picture), "--narrow", "--dark")
    result = run(*words, "--use", "furniture", *out)
    with table.open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    days = [date.fromisoformat(row["date"]) for row in rows]
    assert len(days) > 100
    assert {(b - a).days for a, b in pairwise(days)} == {1}
    assert all(0.0 <= float(row["probability"]) <= 1.0 for row in rows)
    assert picture.read_text(encoding="utf-8").startswith("<?xml")
    assert "Picture:" in result.stderr


def test_pictures_of_a_stay_and_of_one_year(climates: Any, tmp_path: Path) -> None:
    """Where nothing is moved there is no curve; where there is one year, a line."""
    wood = stack("yellow-poplar", "4/4", "2026-05-01", 200)
    stays = ("--target", "19", "--have", "shed")
    for name, words in (("demo", ("demo",)), ("year", tuple(climates["valley"]))):
        picture = tmp_path / f"{name}.svg"
        run(*words, *wood, *stays, "--air", "--plot", str(picture))
        drawn = picture.read_text(encoding="utf-8")
        # One small rectangle a day and year in the one, a single curve in the other.
        assert ("QuadMesh" in drawn) is (name == "demo")


@pytest.mark.parametrize(
    ("wood", "target", "units", "size"),
    [
        (("white oak", "8/4", 500), ("--use", "furniture"), "us", "2 1/8 in"),
        (("white oak", "4/4", 548), ("--target", "16"), "si", "27 mm"),
        (("cherry", "4/4", 500), ("--old-piece", "8.5"), "us", "1 1/16 in"),
    ],
)
def test_a_person_can_read_it(
    wood: tuple[str, str, int], target: tuple[str, str], units: str, size: str
) -> None:
    species, thickness, days = wood
    words = stack(species, thickness, "2026-04-01", days)
    lines = run("demo", *words, *target, "--units", units).stdout.splitlines()
    # Wood that is ready earlier and then takes moisture up again is told so first.
    assert any(line.startswith("Ready for ") for line in lines)
    assert lines[0].startswith(
        ("Ready for ", "It is ready earlier", "Severe risk on this route")
    )
    assert max(len(line) for line in lines) <= 80
    assert any(size in line for line in lines)


@pytest.mark.parametrize(
    ("have", "order"),
    [
        ("shed,loft,house", ["shed", "loft", "house"]),
        ("shed,loft", ["shed", "loft"]),
        ("stack,stack-roof", ["stack", "stack-roof"]),
        ("house,stack-roof,shed", ["stack-roof", "shed", "house"]),
        ("stack-roof,workshop,house", ["stack-roof", "workshop", "house"]),
    ],
)
def test_two_places_of_a_sort_just_work(have: str, order: list[str]) -> None:
    """Airiest first, as they were named."""
    changed = ("shed=loft,roof=metal",) if "loft" in have else ()
    places = places_of(have, changed)
    assert [place.kind for place in places] == order
    assert len({place.name for place in places}) == len(places)
    # What is told of the loft is told of the loft alone.
    for place in places:
        assert ("roof=metal" in place.text()) is (place.kind == "loft")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--stacked", "1 April", "--need", "2027-01-01", "--target", "9"], "1 April"),
        (["--stacked", "2027-01-02", "--need", "2027-01-01", "--target", "9"], "check"),
        (["--stacked", "2026-01-02", "--need", "2027-01-01"], "--use furniture"),
        (
            ["--stacked", "2026-01-02", "--need", "2027-01-01", "--use", "furnitur"],
            "Did you mean 'furniture'",
        ),
        (
            ["--stacked", "2026-01-02", "--need", "2027-01-01", "--target", "50"],
            "3 to 30",
        ),
        (
            [
                *stack("white oak", "4/4", "2026-04-01", 300),
                "--target",
                "12",
                "--have",
                "stack,loft,barn,indoor",
            ],
            "at most 3",
        ),
    ],
)
def test_refusals(words: list[str], said: str) -> None:
    result = CliRunner().invoke(cli, ["plan", "demo", *words])
    assert result.exit_code == 2
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_the_place_it_is_stacked_in_is_kept() -> None:
    asked = ["plan", "demo", "--stacked", "2026-04-01", "--need", "2027-02-01"]
    asked += ["--use", "furniture", "--have", "outdoor,loft,indoor", "--json"]
    answer = CliRunner().invoke(cli, [*asked, "--stacked-in", "loft"])
    route = json.loads(answer.stdout)["result"]["route"]
    assert route[0]["kind"] == "loft"
    refused = CliRunner().invoke(cli, [*asked, "--stacked-in", "cabin"])
    assert refused.exit_code != 0
    assert "(stack, loft, house)" in refused.stderr
