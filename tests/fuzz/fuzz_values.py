"""What a person types: values of every kind, command lines, and the page's forms."""

from __future__ import annotations

import io
import re
import shlex
import tempfile
from collections.abc import Callable
from datetime import date
from functools import cache
from pathlib import Path
from urllib.parse import parse_qsl

import numpy as np
from click.testing import CliRunner
from fuzz_judge import LONGEST, BadAnswerError, strict_json

from emcforecast.cli.group import cli
from emcforecast.dates import FIRST_YEAR, LAST_YEAR, parse_date
from emcforecast.errors import InputError
from emcforecast.storage.setting_text import parse_setting
from emcforecast.thickness import parse_thickness
from emcforecast.units import parse_length, parse_mass, parse_temperature
from emcforecast.wood.species import find_species, search_species

NO_NUMBER = re.compile(r"(?<!\w)(nan|inf)(?!\w)", re.IGNORECASE)
"""In the words of a person it is an echo; in an answer to others it is a fault."""
COMMANDS = ("meter", "movement", "weight", "species", "settings")
LINES = (
    "meter 12.5 --wood-temp 30F --species 'red oak' --depth '1/4 in' --thickness 8/4",
    "meter 18 --kind pinless --set-gravity 0.5 --wood-temp -1C --calibrated 21C",
    "meter --shell 12 --core 18 --target 7:9 --thickness 54mm",
    "meter --oven 136g 100g",
    "meter --sample 3.2kg 62 2.4kg",
    "meter 12 --second 14 --json",
    "movement --species beech --width 300mm --thickness '1 1/8 in' --from 14 --to 8",
    "movement --width 12in --grain quarter --planing 1/8in --units us",
    "weight --species ash --thickness 27 --layers 8 --mc 60 --width 4ft --length 2.5m",
    "weight --fill 0.9 --part sapwood --json",
    "species oak --json",
    "species 'European beech'",
    "settings shed=loft,roof=metal",
    "settings indoor,heat_to=19 --json",
)


def command_line(data: bytes) -> str:
    """Run a command line; only cheap commands are among the seeds."""
    text = data.decode("utf-8", "replace").replace("\x00", "")
    try:
        words = shlex.split(text)
    except ValueError:
        words = text.split()
    if not words or words[0] not in COMMANDS:
        words = ["meter", *words]
    words = [w for w in words if w not in ("--csv", "--plot", "--yard", "--weather")]
    done = CliRunner().invoke(cli, words)
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise done.exception
    lines = done.stderr.strip().splitlines()
    if done.exit_code not in (0, 2) or (done.exit_code == 2 and len(lines) != 1):
        raise BadAnswerError(f"{words}: exit {done.exit_code}, {done.stderr[-300:]!r}")
    if re.search(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", done.output):
        raise BadAnswerError(f"{words}: control signs reach the screen")
    if done.exit_code == 2:
        raise InputError(lines[0][:LONGEST])
    if "--json" in words:
        strict_json(done.stdout)
    elif NO_NUMBER.search(done.stdout) and not NO_NUMBER.search(" ".join(words)):
        raise BadAnswerError(f"{words}: {done.stdout[-300:]!r}")
    return "read"


def _between(low: float, high: float, value: float) -> str:
    if not (np.isfinite(value) and low <= value <= high):
        raise BadAnswerError(f"{value!r} let in")
    return "read"


def _date(text: str) -> str:
    return _between(FIRST_YEAR, LAST_YEAR, parse_date(text).year)


def _thickness(text: str) -> str:
    return _between(1e-3, 1e4, parse_thickness(text).actual_mm)


def _setting(text: str) -> str:
    for value in parse_setting(text).parameters.values():
        if isinstance(value, float) and not np.isfinite(value):
            raise BadAnswerError(f"{value!r} let in")
    return "read"


def _species(text: str) -> str:
    search_species(text)
    return "read" if find_species(text) else "read none"


KINDS: dict[str, tuple[Callable[[str], str], tuple[str, ...]]] = {
    "date": (_date, ("2026-04-01", "1 April 2026", "Apr 1, 2026", "1. July 2026")),
    "length": (
        lambda text: _between(0.0, 1e99, parse_length(text)),
        ("27 mm", "1 1/8 in", "2.5m", "12", "0,5 cm", "4 ft"),
    ),
    "mass": (
        lambda text: _between(0.0, 1e99, parse_mass(text)),
        ("136 g", "3.2kg", "2 1/2 lb", "1,5 kg"),
    ),
    "temperature": (
        lambda text: _between(-300.0, 1e4, parse_temperature(text)),
        ("21C", "-1 °C", "70F", "20", "70 °F"),
    ),
    "thickness": (_thickness, ("4/4", "27 mm", "54", "1 1/8 in", "8/4", "32,5mm")),
    "species": (
        _species,
        ("European larch", "red oak", "Rotbuche", "black walnut", "sugar maple"),
    ),
    "setting": (
        _setting,
        (
            *("shed=loft,roof=metal", "indoor,heat_to=19", "outdoor", "shed=barn"),
            *("indoor,heat_to=19", "shed"),
        ),
    ),
}


def value(data: bytes) -> str:
    """Read "KIND|TEXT" as a value of a kind."""
    kind, _, text = data.decode("utf-8", "replace").partition("|")
    read = KINDS.get(kind)
    if read is None:
        kind, read = "date", KINDS["date"]
    return f"{read[0](text)} {kind}"


def value_seeds() -> dict[str, bytes]:
    """Return good values by name."""
    return {
        f"{kind} {n}": f"{kind}|{text}".encode()
        for kind, (_, texts) in KINDS.items()
        for n, text in enumerate(texts)
    }


YARD = """\
name = "Test yard"
[weather]
file = "demo"
[[stack]]
name = "larch-1"
species = "European larch"
thickness = "27 mm"
stacked = 2026-04-01
setting = "shed"
"""
FORMS = (
    "floor?weather=demo&species=white oak&thickness=4/4&target=8",
    "dry?species=ash&thickness=27 mm&stacked=2026-04-01&width=200 mm&from_mc=60",
    "dry?setting=shed&move1_date=2026-09-01&move1_to=indoor&units=us",
    "plan?need=2027-10-01&use=boat&have=shed",
    "report?species=beech&thickness=54 mm&need=2027-10-01",
    "yard/reading?stack=larch-1&value=18,5&date=2026-06-01&note=dry",
    "yard/add?name=n&species=white oak&thickness=4/4&setting=shed&stacked=2026-05-01",
    "yard/move?stack=larch-1&setting=indoor&date=2026-06-01",
    "upload?latitude=46&longitude=8&file=time,temp_c,rh%0A2021-01-01 00:00,1,80",
)
QUESTIONS = ("floor", "dry", "plan", "report")


class Server:
    """The pages over a yard of a folder, asked without a network."""

    def __init__(self) -> None:
        from emcforecast.web.app import create_app
        from emcforecast.web.serving import Serving

        self.folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
        self.yard = self.folder / "yard.toml"
        self.yard.write_text(YARD)
        self.app = create_app(
            Serving(
                keep=self.folder / "keep",
                yard=self.yard,
                folder=self.folder,
                hosts=("localhost", "127.0.0.1"),
            )
        )
        self.site = self.app.extensions["emcforecast"]
        self.client = self.app.test_client()
        page = self.get("/yard/reading")
        found = re.search(r'name="form_key" value="([^"]+)"', page)
        self.key = found[1] if found else ""

    def get(self, address: str, **query: str) -> str:
        """Return a page; raise `BadAnswerError` for any but an answer or a refusal."""
        answer = self.client.get(
            address, query_string=query, headers={"Accept": "text/html"}
        )
        text = answer.get_data(as_text=True)
        answer.close()
        if answer.status_code not in (200, 422):
            raise BadAnswerError(f"{address} {query}: {answer.status_code}")
        return text

    def post(self, address: str, fields: dict[str, str]) -> str:
        """Send a form; the yard and its log are as before when it is refused."""
        self.yard.write_text(YARD)
        log = self.folder / "readings.csv"
        log.unlink(missing_ok=True)
        body: dict[str, object] = {"form_key": self.key, **fields}
        if address == "/upload":
            content = fields.get("file", "").encode("utf-8", "replace")
            body["file"] = (io.BytesIO(content), "x.csv")
        answer = self.client.post(address, data=body, headers={"Accept": "text/html"})
        status = answer.status_code
        answer.close()
        if status not in (303, 422):
            raise BadAnswerError(f"{address} {fields}: {status}")
        if status == 422:
            if self.yard.read_text() != YARD or log.exists():
                raise BadAnswerError(f"{address} {fields}: refused, yet written")
            return f"refused: form {address}"
        return f"read {address}"


@cache
def server() -> Server:
    """Return the one server of this process."""
    return Server()


def form(data: bytes) -> str:
    """Send "PAGE?FIELDS" to the server: a question, its form, or a form that writes."""
    page, _, text = data.decode("utf-8", "replace").partition("?")
    try:
        pairs = parse_qsl(text, keep_blank_values=True, max_num_fields=200)
    except ValueError:
        pairs = [("value", text)]
    fields = dict(pairs)
    if page in QUESTIONS:
        from emcforecast.web.questions import fields_asked, question

        asked = fields_asked(page, {k: [v] for k, v in fields.items()})
        if page != "report":  # asked from the form of a plan
            server().get(f"/{page}", **{**fields, "form": "1"})
        with server().app.test_request_context("/"):
            found = question(
                page, asked, server().site.sources, "si", date(2026, 11, 27)
            )
        if len(found.key) != 64:
            raise BadAnswerError(f"{page}: key {found.key!r}")
        return f"read {page}"
    known = ("yard/reading", "yard/add", "yard/move", "upload")
    return server().post(f"/{page if page in known else known[0]}", fields)
