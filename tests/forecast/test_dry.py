"""What an expert expects, through the command line with monthly weather."""

import json
from datetime import date
from functools import cache

import numpy as np
import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.errors import InputError
from emcforecast.forecast.dry import dry
from emcforecast.forecast.year_per_inch import inches, verdict
from emcforecast.thickness import parse_thickness
from emcforecast.weather.read import demonstration
from emcforecast.wood.risks.week import LEVELS

pytestmark = pytest.mark.usefixtures("worked_out_once")

# Monthly °C and % RH of four invented climates, with what an expert expects of wood
# in them: common practice, no source.
CLIMATES = {
    "humid temperate valley": (
        [1, 3, 8, 14, 18, 23, 25, 24, 20, 14, 8, 3],
        [72, 69, 66, 65, 70, 73, 75, 77, 78, 75, 73, 73],
    ),
    "cold continental": (
        [-11, -9, -3, 5, 12, 17, 20, 18.5, 13, 7, -1, -8],
        [75, 73, 71, 66, 67, 70, 71, 74, 77, 76, 79, 79],
    ),
    "cool maritime": (
        [5, 5, 6.5, 9, 12, 15, 17, 17, 14.5, 11, 7.5, 5],
        [87, 84, 80, 76, 75, 75, 75, 77, 80, 84, 87, 88],
    ),
    "high desert": (
        [-1, 2, 6, 10, 16, 21, 25, 24, 19, 12, 5, 0],
        [62, 52, 42, 34, 31, 27, 32, 36, 37, 42, 53, 62],
    ),
}
ROOF = "outdoor=stack-roof"
EXPERT = [
    ("humid temperate valley", "white oak", "4/4", "2025-04-01", (80, 130)),
    ("humid temperate valley", "white oak", "4/4", "2025-10-01", (150, 250)),
    ("humid temperate valley", "white oak", "8/4", "2025-04-01", (304, 487)),
    ("humid temperate valley", "yellow-poplar", "4/4", "2025-05-01", (30, 60)),
    ("cold continental", "sugar maple", "4/4", "2025-05-01", (45, 75)),
    ("cold continental", "sugar maple", "4/4", "2025-09-01", (120, 220)),
    ("cool maritime", "European oak", "54 mm", "2025-04-01", (426, 731)),
]
"""Climate, wood, thickness, stacked, days to 20 %."""


@pytest.fixture(scope="module")
def tables(tmp_path_factory):
    folder = tmp_path_factory.mktemp("climates")
    files = {}
    for name, (t, h) in CLIMATES.items():
        rows = [f"{m},{a},{b}" for m, (a, b) in enumerate(zip(t, h, strict=True), 1)]
        files[name] = folder / f"{name.replace(' ', '-')}.csv"
        head = "month,temperature (C),relative humidity (%)"
        files[name].write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return files


@cache
def last_years():
    """The demonstration's last four years: enough where two answers are compared."""
    return demonstration().sel(time=slice("2015", None))


def ask(*words):
    result = CliRunner().invoke(cli, ["dry", *map(str, words)])
    assert result.exit_code == 0, result.output
    return result.stdout


def in_a_line(text):
    return " ".join(text.split())


def ask_json(*words):
    return json.loads(ask(*words, "--json"))


def days(answer, step):
    begun = date.fromisoformat(answer["inputs"]["stacked"])
    return (date.fromisoformat(step["p50"]) - begun).days


@pytest.mark.parametrize(("climate", "wood", "thick", "stacked", "expected"), EXPERT)
def test_days_to_20_are_what_an_expert_expects(
    tables, climate, wood, thick, stacked, expected
):
    answer = ask_json(
        tables[climate], "--species", wood, "--thickness", thick,
        "--stacked", stacked, "--setting", ROOF,
    )  # fmt: skip
    twenty = answer["result"]["steps"][1]
    assert twenty["mc"] == 20
    assert expected[0] <= days(answer, twenty) <= expected[1]
    assert twenty["p10"] < twenty["p50"] < twenty["p90"]


def test_under_a_roof_in_the_valley_oak_never_reaches_12(tables):
    words = (
        tables["humid temperate valley"], "--thickness", "4/4",
        "--stacked", "2025-04-01", "--setting", ROOF, "--target", 12,
    )  # fmt: skip
    result = ask_json(*words)["result"]
    assert result["target"]["p50"] is None
    assert result["target"]["p90"] is None
    assert result["shell_at_target"] is None or result["target"]["fraction_reached"] > 0
    assert result["floor"] > 12.0
    text = in_a_line(ask(*words))
    assert "Do not expect 12 % here" in text
    assert "Finish it indoors" in text


def test_thick_oak_gets_a_warning_about_its_core(tables):
    text = ask(
        tables["humid temperate valley"], "--thickness", "8/4",
        "--stacked", "2025-04-01", "--setting", ROOF,
    )  # fmt: skip
    assert "Test the core, not the face." in in_a_line(text)


def test_the_rule_is_far_too_slow_for_poplar_and_stain_is_told(tables):
    answer = ask_json(
        tables["humid temperate valley"], "--species", "yellow-poplar",
        "--thickness", "4/4", "--stacked", "2025-05-01", "--setting", ROOF,
    )["result"]  # fmt: skip
    assert answer["rule_of_thumb_date"] == "2026-05-01"
    assert answer["rule_of_thumb_verdict"] == "far too slow"
    stain = [r for r in answer["risks"] if r["risk"] == "stain"]
    assert stain[0]["level"] in ("moderate", "high", "severe")


def test_16_is_not_promised_by_the_sea(tables):
    target = ask_json(
        tables["cool maritime"], "--thickness", "54 mm", "--stacked", "2025-04-01",
        "--setting", ROOF, "--target", 16,
    )["result"]["target"]  # fmt: skip
    assert target["fraction_reached"] < 0.9
    assert target["p90"] is None


def test_red_oak_in_the_desert_in_june_is_in_danger_of_checks(tables):
    answer = ask_json(
        tables["high desert"], "--species", "red oak", "--stacked", "2025-06-01",
        "--setting", ROOF, "--target", 10,
    )["result"]  # fmt: skip
    checks = next(r for r in answer["risks"] if r["risk"] == "surface checks")
    assert checks["level"] == "severe"
    assert "autumn" in checks["advice"]


def test_a_sunny_loft_is_a_window_with_a_weight_on_its_floor(tables):
    words = (
        tables["cold continental"], "--species", "sugar maple",
        "--stacked", "2025-05-01", "--setting", "shed=loft",
    )  # fmt: skip
    document = ask_json(*words)
    result = document["result"]
    assert 8.0 <= result["floor"] <= 11.0
    assert result["floor_range"]["month"] in (7, 8)
    assert result["at_rest"]["highest"] > result["floor"] + 1.5
    assert any("ask a licensed engineer" in c for c in document["cautions"])
    text = ask(*words)
    assert "Each layer weighs" in text
    assert " safe" not in text


class TestPython:
    def test_a_mixed_stack_waits_for_its_slowest_wood(self):
        """Common practice, no source: white oak is the slowest, pine quicker."""
        woods = ["Scots pine", "white oak"]
        given = {"stacked": "2015-05-01", "setting": "shed", "target": 16.0}
        mixed = dry(last_years(), woods, 27, **given)
        assert mixed.board.wood.name == "oak, white"
        ((pine, when),) = mixed.others
        assert pine.wood.name == "pine, Scots"
        assert when.p50 < mixed.target.p50
        # Each as it would be alone.
        alone = {w: dry(last_years(), w, 27, **given) for w in woods}
        assert alone["white oak"].target == mixed.target
        assert alone["Scots pine"].target.p50 == when.p50
        worst = {
            name: {d.risk: d.level for d in answer.dangers[::-1]}
            for name, answer in (*alone.items(), ("mixed", mixed))
        }
        for risk, level in worst["Scots pine"].items():
            assert LEVELS.index(worst["mixed"][risk]) >= LEVELS.index(level)

    def test_of_several_thicknesses_the_slowest_governs(self):
        answer = dry(last_years(), "basswood", ["4/4", "8/4"], "2025-04-01", "shed")
        assert answer.board.thickness_mm == 54.0
        ((thin, goal),) = answer.others
        assert thin.thickness_mm == 27.0
        assert goal.p50 < answer.target.p50

    def test_dry_wood_is_there_at_once_and_has_no_rule(self):
        answer = dry(
            demonstration(), "white oak", "4/4", "2025-09-01", "shed", 20, from_mc=12
        )
        assert answer.target.p90 == np.datetime64("2025-09-01")
        assert answer.rule is None

    def test_resawing_makes_it_quicker(self):
        from emcforecast.ensemble.route import Cut

        def twelve(cuts):
            return dry(
                last_years(), "white oak", 60, "2025-04-01", "shed=loft", 14,
                cuts=cuts,
            ).target.p50  # fmt: skip

        assert twelve([Cut(np.datetime64("2025-10-01"), 28.0)]) < twelve([])

    @pytest.mark.parametrize(
        ("change", "message"),
        [
            ({"target": 1.0}, "outside 3 to 60"),
            ({"moves": [("2025-01-01", "loft")]}, "not after 2025-04-01"),
            ({"stacked": "someday"}, "year-month-day"),
            ({"thickness": []}, "at least one"),
            ({"setting": "cave"}, "not known"),
        ],
    )
    def test_what_cannot_be_is_refused_in_one_line(self, change, message):
        asked = {"stacked": "2025-04-01", "setting": "shed", **change}
        with pytest.raises(InputError, match=message) as refusal:
            dry(demonstration(), **asked)
        assert "\n" not in str(refusal.value)


class TestRule:
    def test_nominal_inches_count(self):
        """One year per inch of thickness: rule of thumb, no source."""
        assert inches(parse_thickness("8/4")) == 2.0
        assert inches(parse_thickness(50.8)) == 2.0

    def test_words_follow_the_ratio(self):
        assert [verdict(r) for r in (3, 2, 1, 0.6, 0.3)] == [
            "far too slow", "too slow", "about right", "too fast", "far too fast",
        ]  # fmt: skip


class TestCommand:
    def test_csv_and_picture_are_written(self, tmp_path, tables):
        csv, png = tmp_path / "days.csv", tmp_path / "dry.png"
        ask(
            tables["high desert"], "--stacked", "2025-06-01", "--csv", csv,
            "--plot", png, "--narrow", "--dark",
        )  # fmt: skip
        head, first, *_ = csv.read_text(encoding="utf-8").splitlines()
        assert head.startswith("date,mean_p10_mc_pct,mean_p50_mc_pct")
        assert first.startswith("2025-06-01,")
        assert png.read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"

    def test_tables_fit_80_columns(self, tables):
        text = ask(tables["high desert"], "--stacked", "2025-06-01", "--units", "us")
        assert max(len(line) for line in text.splitlines()) <= 80

    def test_a_move_badly_written_is_refused(self, tables):
        result = CliRunner().invoke(
            cli, ["dry", str(tables["high desert"]), "--move", "2025-06-01"]
        )
        assert result.exit_code == 2
        assert "2026-08-24=loft" in result.stderr
