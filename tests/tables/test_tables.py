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
