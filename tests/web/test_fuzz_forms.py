"""Whatever a form is sent: an answer or a refusal, never a fault or a broken row."""

import tomllib
from contextlib import suppress
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from emcforecast.weather.hints import SAID_OF_A_FILE
from emcforecast.web.questions import FIELDS
from emcforecast.web.yards import READING, STACK
from emcforecast.yard.log import read_log

SOME = st.one_of(
    st.text(max_size=40),
    st.sampled_from(
        [
            *("larch-1", "white oak", "4/4", "27 mm", "-1", "1e9", "nan", "over"),
            *("shed", "loft", "2026-04-01", "31 February", "0", "a,b", "x;y", '"'),
            *("=1+1", "]]", "\n[[stack]]", "\\", "{{x}}", "18,5", "2,4,6", "demo"),
        ]
    ),
)
BESIDE = dict.fromkeys((*(set(READING) - {"value"}), "entry"), SOME)
QUIET = settings(
    max_examples=25,
    deadline=timedelta(seconds=60),
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    database=None,
)


@pytest.mark.parametrize("command", FIELDS)
def test_any_question_is_read_or_refused(app, command):
    from emcforecast.errors import InputError
    from emcforecast.web.questions import fields_asked, question

    site = app.extensions["emcforecast"]

    @QUIET
    @given(st.dictionaries(st.sampled_from(FIELDS[command]), SOME, max_size=8))
    def ask(fields):
        asked = fields_asked(command, {k: [v] for k, v in fields.items()})
        with suppress(InputError):
            found = question(command, asked, site.sources, "si", date(2026, 11, 27))
            assert len(found.key) == 64

    ask()


@pytest.mark.parametrize("command", ["floor", "dry", "plan"])
def test_any_question_is_shown_in_its_form(visitor, command):
    @QUIET
    @given(st.dictionaries(st.sampled_from(FIELDS[command]), SOME, max_size=8))
    def ask(fields):
        page = visitor.get(f"/{command}", query_string={**fields, "form": "1"})
        assert page.status_code == 200

    ask()


def test_any_reading_is_stored_whole_or_refused(visitor, yard_file):
    visitor.get("/yard/reading")
    log = yard_file.parent / "readings.csv"

    @QUIET
    @given(
        st.fixed_dictionaries(
            {"value": SOME},
            optional=dict.fromkeys((*(set(READING) - {"value"}), "entry"), SOME),
        )
    )
    def note(fields):
        before = log.read_bytes() if log.exists() else b""
        answer = visitor.post("/yard/reading", **{"stack": "larch-1", **fields})
        after = log.read_bytes() if log.exists() else b""
        assert answer.status_code in (303, 422)
        assert after.startswith(before)
        assert answer.status_code == 303 or after == before
        found = read_log(log)
        assert found.damaged == ()

    note()


def test_any_stack_is_added_whole_or_refused(visitor, yard_file):
    visitor.get("/yard/add")
    start = yard_file.read_text()

    @QUIET
    @given(st.dictionaries(st.sampled_from(STACK), SOME, max_size=8))
    def add(fields):
        yard_file.write_text(start)
        good = {"name": "n", "species": "white oak", "thickness": "4/4"}
        answer = visitor.post("/yard/add", **{**good, "setting": "shed", **fields})
        text = yard_file.read_text()
        assert answer.status_code in (303, 422)
        assert len(tomllib.loads(text)["stack"]) == (
            2 if answer.status_code == 303 else 1
        )
        assert visitor.get("/yard/reading").status_code == 200

    add()


def test_any_move_is_noted_or_refused(visitor, yard_file):
    visitor.get("/yard/move")
    start = yard_file.read_text()

    @QUIET
    @given(SOME, SOME, SOME)
    def move(stack, setting, day):
        yard_file.write_text(start)
        answer = visitor.post("/yard/move", stack=stack, setting=setting, date=day)
        assert answer.status_code in (303, 422)
        assert answer.status_code == 303 or yard_file.read_text() == start
        assert visitor.get("/yard/move").status_code == 200

    move()


def test_any_upload_is_refused_or_used(visitor):
    import io

    visitor.get("/")

    @settings(QUIET, max_examples=15)
    @given(
        st.binary(max_size=400),
        SOME,
        st.dictionaries(st.sampled_from(SAID_OF_A_FILE), SOME, max_size=3),
    )
    def bring(content, name, hints):
        file = (io.BytesIO(content), name.replace("\r", "").replace("\n", "") or "x")
        answer = visitor.post("/upload", **hints, file=file)
        assert answer.status_code in (303, 422)

    bring()


def test_any_code_or_token_is_refused_politely(visitor):
    visitor.get("/yard/reading")  # Its form gives the key; the yard may still wait.

    @QUIET
    @given(SOME)
    def try_it(text):
        for address in ("/yard/changed/undo", "/yard/reading/undo"):
            answer = visitor.post(address, code=text, entry=text)
            assert answer.status_code == 422
        for address in ("/yard/reading", "/yard/changed", "/places"):
            query = {"done": text, "code": text, "name": "", "what": text}
            assert visitor.get(address, query_string=query).status_code in (200, 422)

    try_it()
