"""What the pages answer is what the commands answer."""

import csv
import io
import json
import re
from html import unescape

import html5lib
import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli

QUESTIONS = {
    "floor": (
        "weather=file:short.csv&thickness=30+mm&shed=loft&shed.ventilation=8",
        ["--thickness", "30 mm", "--setting", "shed=loft,ventilation=8"],
    ),
    "dry": (
        "weather=file:short.csv&species=ash&stacked=2016-04-01&setting=shed"
        "&target=16",
        [
            *("--species", "ash", "--stacked", "2016-04-01"),
            *("--setting", "shed", "--target", "16"),
        ],
    ),
    "plan": (
        "weather=file:short.csv&stacked=2016-04-01&need=2017-05-01&use=furniture"
        "&have=outdoor&have=indoor",
        [
            *("--stacked", "2016-04-01", "--need", "2017-05-01", "--use", "furniture"),
            *("--have", "outdoor,indoor"),
        ],
    ),
}  # fmt: skip


@pytest.fixture
def short(yard_file):
    """Two monthly years: quick to work out."""
    rows = ["time,temperature (C),relative humidity (%)"]
    warmth = (-1, 1, 5, 9, 14, 17, 19, 18, 14, 9, 4, 0)
    rows += [
        f"{year}-{k + 1:02d}-01,{degrees},{85 - degrees}"
        for year in (2015, 2016, 2017)
        for k, degrees in enumerate(warmth)
    ]
    path = yard_file.parent / "short.csv"
    path.write_text("\n".join(rows))
    return path


@pytest.mark.parametrize(
    "command", ["floor", "dry", pytest.param("plan", marks=pytest.mark.slow)]
)
def test_the_document_of_a_page_is_that_of_the_command(visitor, short, command):
    query, words = QUESTIONS[command]
    page = visitor.answered(f"/{command}?{query}")
    assert page.status_code == 200
    served = json.loads(visitor.get(f"/{command}.json?{query}").data)
    printed = CliRunner().invoke(
        cli, [command, str(short), *words, "--json", "--quiet", "--units", "si"]
    )
    told = json.loads(printed.stdout)
    for part in ("command", "version", "result", "weather", "warnings", "cautions"):
        assert served[part] == told[part], part
    if command == "dry":
        assert any("ash" in warning for warning in told["warnings"])
    rows = list(
        csv.DictReader(io.StringIO(visitor.get(f"/{command}.csv?{query}").text))
    )
    assert rows
    # Every sentence of the document that the page shows stands there word for word.
    shown = " ".join(unescape(re.sub(r"<[^>]+>", " ", page.text)).split())
    for caution in told["cautions"]:
        assert caution in shown
    html5lib.HTMLParser(strict=True).parse(page.text)


def test_every_page_is_valid_html(visitor):
    for address in (
        *("/", "/floor", "/dry", "/plan", "/yard/reading", "/yard/add", "/yard/move"),
        *("/places", "/offline", "/nix", "/dry?species=oka", "/floor?form=1&shed=loft"),
    ):
        html5lib.HTMLParser(strict=True).parse(visitor.get(address).text)


def test_the_yard_of_a_page_is_that_of_the_command(visitor, yard_file, app):
    page = visitor.answered("/yard")
    assert page.status_code == 200
    served = json.loads(visitor.get("/yard.json").data)
    printed = CliRunner().invoke(
        cli, ["yard", str(yard_file), "--json", "--quiet", "--units", "si"]
    )
    told = json.loads(printed.stdout)
    for part in ("command", "result", "weather", "warnings", "cautions"):
        assert served[part] == told[part], part
    shown = " ".join(unescape(re.sub(r"<[^>]+>", " ", page.text)).split())
    assert told["result"]["answer"] in shown
    html5lib.HTMLParser(strict=True).parse(page.text)
