"""`floor` in words: its sentences agree with its table and with one another."""

import json
import re
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from emcforecast.cli.group import cli

# Monthly °C and % of two places; what is expected of them is common practice, no
# source: heated rooms in dry country settle at 5 to 7 %, on a damp coast at 8 to 10 %.
STEPPE = (
    (-1, 0.5, 5, 9, 14, 20, 24, 22.5, 18, 11, 4, -1),
    (52, 50, 47, 45, 47, 43, 41, 43, 42, 43, 50, 53),
)
COAST = (
    (5, 6, 7, 9, 12, 14, 16, 16, 15, 11, 8, 5),
    (88, 85, 82, 80, 79, 79, 79, 81, 83, 87, 88, 89),
)
FURNITURE = (7.0, 9.0)
"""Published range of furniture, % MC."""


def asked(climate: Any, folder: Path, *words: str) -> dict[str, Any]:
    rows = [f"{m},{t},{h}" for m, (t, h) in enumerate(zip(*climate, strict=True), 1)]
    file = folder / "w.csv"
    file.write_text(
        "\n".join(["month,temperature_c,relative_humidity_pct", *rows]),
        encoding="utf-8",
    )
    line = ["floor", str(file), "--latitude", "40", "--species", "white ash", *words]
    result = CliRunner().invoke(cli, [*line, "--json"])
    assert result.exit_code == 0, result.output
    found: dict[str, Any] = json.loads(result.stdout)["result"]["settings"]
    return found


def test_wood_below_the_range_is_called_too_dry(tmp_path: Path) -> None:
    for setting in asked(STEPPE, tmp_path).values():
        means = [month["mean"] for month in setting["months"]]
        said = setting["sentence"]
        drier = re.search("gets drier than|drier than that all year", said)
        assert (drier is not None) is (min(means) < FURNITURE[0])
        inside = all(FURNITURE[0] <= mean <= FURNITURE[1] for mean in means)
        assert ("can be reached all year" in said) is inside
        if max(means) < FURNITURE[0]:
            assert "urniture (7 to 9 %) drier than that all year" in said
            assert "take it out when a meter reads 7 to 9 %" in said


def test_a_place_that_may_do_is_named_by_the_others(tmp_path: Path) -> None:
    found = asked(COAST, tmp_path, "--setting", "indoor=house-cooled")
    assert "uncertain" in found["indoor"]["sentence"]
    for name in ("outdoor", "shed"):
        assert "perhaps the heated and cooled house" in found[name]["sentence"]
        assert "than any of these places" not in found[name]["sentence"]
