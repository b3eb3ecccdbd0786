"""The yard through the pages: readings, stacks, moves, and taking them back."""

import csv
import tomllib

from emcforecast.yard.log import read_log


def rows(yard_file):
    return read_log(yard_file.parent / "readings.csv").rows


def test_a_reading_is_noted_once_however_often_it_is_sent(visitor, yard_file):
    fields = visitor.form("/yard/reading", "/yard/reading")
    fields |= {"value": "18,5", "wood_temperature": "10", "note": "after rain"}
    first = visitor.post("/yard/reading", **fields)
    again = visitor.post("/yard/reading", **fields)
    assert (first.status_code, again.status_code) == (303, 303)
    (row,) = rows(yard_file)
    assert row.fields["value"] == "18.5"
    assert row.fields["wood_temperature"] == "10 C"
    assert row.fields["note"] == "after rain"
    assert row.mark.entry == fields["entry"]
    page = visitor.get(first.headers["Location"]).get_data(as_text=True)
    assert "Noted: larch-1: 18.5 %" in page


def test_what_is_said_of_a_reading_is_what_the_command_says(visitor, yard_file):
    from click.testing import CliRunner

    from emcforecast.cli.group import cli

    visitor.get("/yard/reading")
    sent = visitor.post(
        "/yard/reading",
        stack="larch-1",
        value="20",
        wood_temperature="0 C",
        time="2026-06-01 08:00",
    )
    page = visitor.get(sent.headers["Location"]).get_data(as_text=True)
    (yard_file.parent / "readings.csv").unlink()
    words = ["yard", "reading", str(yard_file), "larch-1", "20", "--no-forecast"]
    words += ["--temperature", "0C", "--time", "2026-06-01T08:00"]
    said = CliRunner().invoke(cli, words).output
    words = " ".join(said.split())
    shown = " ".join(page.replace("<p>", " ").replace("</p>", " ").split())
    assert words
    assert words in shown.replace("&#39;", "'").replace("&gt;", ">")


def test_a_reading_is_taken_back_and_the_log_only_grows(visitor, yard_file):
    fields = visitor.form("/yard/reading", "/yard/reading") | {"value": "18"}
    visitor.post("/yard/reading", **fields)
    log = yard_file.parent / "readings.csv"
    before = log.read_bytes()
    for _ in range(2):
        sent = visitor.post("/yard/reading/undo", entry=fields["entry"])
        assert sent.status_code == 303
    assert log.read_bytes().startswith(before)
    assert len(log.read_text().splitlines()) == 3
    assert rows(yard_file) == ()
    # A late copy of it stays taken back.
    visitor.post("/yard/reading", **fields)
    assert rows(yard_file) == ()


def test_a_reading_that_is_wrong_is_refused_in_place(visitor, yard_file):
    visitor.get("/yard/reading")
    answer = visitor.post("/yard/reading", stack="larch-1", value="dry", board="B7")
    page = answer.get_data(as_text=True)
    assert answer.status_code == 422
    assert "is not a number" in page
    assert 'value="B7"' in page
    assert rows(yard_file) == ()


def test_a_queued_reading_is_answered_in_json(visitor, yard_file):
    key = visitor.client.get("/session.json").get_json()["form_key"]
    body = {"stack": "larch-1", "value": "17", "entry": "ab" * 8}
    body["time"] = "2026-11-20T07:30"
    headers = {"Accept": "application/json", "X-Form-Key": key}
    for new in (True, False):
        answer = visitor.client.post("/yard/reading", data=body, headers=headers)
        assert answer.get_json() == {"stored": "ab" * 8, "new": new}
    answer = visitor.client.post(
        "/yard/reading", data={**body, "stack": "nix"}, headers=headers
    )
    assert answer.status_code == 422
    assert "no stack" in answer.get_json()["refused"]
    assert [row.fields["time"] for row in rows(yard_file)] == ["2026-11-20T07:30"]


def test_a_stack_is_added_and_taken_back(visitor, yard_file):
    before = yard_file.read_text()
    fields = visitor.form("/yard/add", "/yard/add")
    fields |= {"name": "oak-1", "species": "white oak", "thickness": "8/4"}
    fields |= {"sawn": "2026-05-01", "count": "40", "length": "8 ft", "width": "10 in"}
    fields |= {"use": "furniture", "note": 'Anna said "dry"'}
    sent = visitor.post("/yard/add", **fields)
    assert sent.status_code == 303
    stack = tomllib.loads(yard_file.read_text())["stack"][1]
    assert stack["name"] == "oak-1"
    assert stack["boards"] == {"count": 40, "length": "8 ft", "width": "10 in"}
    assert stack["note"] == 'Anna said "dry"'
    page = visitor.form(sent.headers["Location"], "/yard/changed/undo")
    assert visitor.post("/yard/changed/undo", code=page["code"]).status_code == 303
    assert yard_file.read_text() == before


def test_a_change_is_not_undone_over_a_later_one(visitor, yard_file):
    visitor.get("/yard/move")
    first = visitor.post(
        "/yard/move", stack="larch-1", setting="loft", date="2026-08-01"
    )
    visitor.post("/yard/move", stack="larch-1", setting="indoor", date="2026-09-01")
    page = visitor.form(first.headers["Location"], "/yard/changed/undo")
    answer = visitor.post("/yard/changed/undo", code=page["code"])
    assert answer.status_code == 422
    assert "has changed since" in answer.get_data(as_text=True)
    moves = tomllib.loads(yard_file.read_text())["stack"][0]["moved"]
    assert [move["setting"] for move in moves] == ["loft", "indoor"]


def test_a_move_that_is_wrong_is_refused_in_place(visitor, yard_file):
    before = yard_file.read_bytes()
    visitor.get("/yard/move")
    for fields in (
        {"stack": "larch-1", "setting": "../etc", "date": "2026-08-01"},
        {"stack": "nix", "setting": "loft", "date": "2026-08-01"},
        {"stack": "larch-1", "setting": "loft", "date": "the day"},
        {"stack": "larch-1", "setting": "loft", "date": "2020-01-01"},
    ):
        answer = visitor.post("/yard/move", **fields)
        assert answer.status_code == 422
        assert 'role="alert"' in answer.get_data(as_text=True)
    assert yard_file.read_bytes() == before


def test_the_log_of_the_pages_is_a_plain_csv(visitor, yard_file):
    visitor.get("/yard/reading")
    for n in range(3):
        visitor.post("/yard/reading", stack="larch-1", value=str(20 - n), note=f"n{n}")
    with (yard_file.parent / "readings.csv").open(newline="") as file:
        found = list(csv.DictReader(file))
    assert [row["value"] for row in found] == ["20", "19", "18"]
