"""Reading packaged tables."""

import subprocess
import sys

import pytest

from emcforecast import tables
from emcforecast.errors import InputError


def test_rows_are_fresh() -> None:
    first = tables.rows("emc_table_4_2")
    first[0]["temp_f"] = "changed"
    assert tables.rows("emc_table_4_2.csv")[0]["temp_f"] == "30"


def test_unknown_table_names_the_nearest() -> None:
    with pytest.raises(InputError, match=r"Did you mean 'emc_table_4_2\.csv'\?"):
        tables.rows("emc_table_42")


def test_needs_the_standard_library_only() -> None:
    code = (
        "import sys, emcforecast.tables as t; t.rows('emc_table_4_2'); "
        "print([m for m in ('numpy', 'pandas', 'xarray') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_published_table_is_whole() -> None:
    cells = {(int(r["temp_f"]), int(r["rh_pct"])) for r in tables.rows("emc_table_4_2")}
    grid = {(t, h) for t in range(30, 201, 10) for h in range(5, 96, 5)}
    assert len(grid) == 342
    assert grid <= cells


def test_city_table_is_whole() -> None:
    rows = tables.rows("emc_outdoor_us")
    months = ("Jan", "Feb", "Mar", "Apr", "May", "Jun")
    months += ("Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
    assert len(rows) == 49
    # the driest and dampest published months: 4 % in the desert, 19 % on the coast
    assert all(3.5 < float(row[month]) < 20 for row in rows for month in months)


def test_targets_are_usable() -> None:
    rows = tables.rows("target_mc")
    chosen = [(r["use"], r["region"]) for r in rows if r["chosen"] == "yes"]
    assert len(chosen) == len(set(chosen)), "one target for a use in a region"
    for row in rows:
        numbers = [row[key] for key in ("low_pct", "typical_pct", "high_pct")]
        values = [float(number) for number in numbers if number]
        assert values == sorted(values)
        assert all(4 <= value <= 25 for value in values)
        assert values or row["chosen"] == "no"
        assert row["source"]
        assert row["provenance"] in {"retrieved", "memory", "practice"}
    people_ask = ("furniture", "cabinets", "flooring", "trim", "decking", "siding")
    people_ask += ("boat", "timber-frame", "instruments", "barn-siding")
    assert {(use, "any") for use in people_ask} <= set(chosen)


def test_interior_targets_of_the_handbook() -> None:
    # Wood Handbook FPL-GTR-190 Table 13-2 (memory): average and range by region
    expected = {
        "us": (6, 8, 10),
        "us-dry-southwest": (4, 6, 9),
        "us-damp-coast": (8, 11, 13),
    }
    for row in tables.rows("target_mc"):
        if row["use"] == "flooring" and row["region"] in expected:
            got = (row["low_pct"], row["typical_pct"], row["high_pct"])
            assert tuple(map(int, got)) == expected.pop(row["region"])
    assert not expected
