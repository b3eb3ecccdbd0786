"""Every archive played by a real server, in good order and in bad."""

import hashlib
import json
import logging
import os
import subprocess
import sys
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest

from emcforecast.errors import ArchiveError
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.archives.record import Place, Request
from emcforecast.weather.archives.registry import ARCHIVES
from emcforecast.weather.fetch import fetch_place
from emcforecast.weather.series import check_contract

SAMPLES = Path(__file__).parents[2] / "data" / "samples"
SAMPLE_OF = {
    "open-meteo": "open_meteo.json",
    "open-meteo-forecast": "open_meteo.json",
    "nasa-power": "power_hourly.json",
    "nasa-power-daily": "power_daily.json",
    "nasa-power-monthly": "power_monthly.json",
    "nasa-power-normals": "power_normals.json",
    "ghcnh": "ghcnh_by_year.psv",
    "global-hourly": "global_hourly.csv",
    "isd-lite": "isd_lite.gz",
    "lcd": "lcd_first.csv",
    "hourly-normals": "hourly_normals.csv.gz",
    "iem-asos": "iem_comma.csv",
    "meteostat": "meteostat.csv.gz",
    "dwd": "dwd_tu.zip",
    "eccc": "eccc_english.csv",
    "era5": "era5.zip",
}


@dataclass
class Reply:
    status: int = 200
    body: bytes = b""
    headers: dict[str, str] = field(default_factory=dict)
    sleep: float = 0.0
    claim: int | None = None  # Content-Length that the body does not keep


PLACE = Place(46.5, 8.5, station="XSAMPL1", elevation=512.0)
START, END = date(2019, 1, 1), date(2019, 1, 2)
QUICK = {name: replace(item, pause=0.0) for name, item in ARCHIVES.items()}
ERA5_ROOT = "/cds.climate.copernicus.eu/api/retrieve/v1"


def sample(name):
    return (SAMPLES / SAMPLE_OF[name]).read_bytes()


def play(archives, name, *replies):
    """Let the server answer an archive's address, by its sample unless told."""
    good = Reply(body=sample(name))
    if name != "era5":
        host = QUICK[name].requests(PLACE, START, END)[0].url.split("/")[2]
        archives.plan(host, *(replies or (good,)))
        return
    made = {"asset": {"value": {"href": "https://store.example/made.zip"}}}
    archives.plan("/execution", Reply(201, b'{"jobID": "j1", "status": "accepted"}'))
    archives.plan("/jobs/j1/results", Reply(body=json.dumps(made).encode()))
    archives.plan(
        "/jobs/j1",
        Reply(body=b'{"jobID": "j1", "status": "running"}'),
        Reply(body=b'{"jobID": "j1", "status": "successful"}'),
    )
    archives.plan("store.example", *(replies or (good,)))


def fetch(name, session):
    return fetch_place(QUICK[name], PLACE, START, END, session=session)


@pytest.fixture(autouse=True)
def own_key(monkeypatch):
    monkeypatch.setenv("EMCFORECAST_CDS_KEY", "top-secret-key")


def test_every_archive_is_played():
    assert set(SAMPLE_OF) == set(ARCHIVES)


@pytest.mark.parametrize("name", SAMPLE_OF)
def test_success_then_all_of_it_from_the_cache(name, archives, ask, tmp_path):
    play(archives, name)
    series = fetch(name, ask())
    check_contract(series)
    assert series.attrs["retrieved"] == date.today().isoformat()
    count = len(archives.asked)
    as_read = fetch(name, ask(offline=True))
    for path in (tmp_path / "cache").glob("read-*.npz"):
        path.write_bytes(b"torn")
    again = fetch(name, ask(offline=True))
    assert len(archives.asked) == count
    assert as_read.identical(series)
    assert again.identical(series)
    np.testing.assert_array_equal(again["air_temperature"], series["air_temperature"])


@pytest.mark.parametrize("name", [n for n in SAMPLE_OF if n != "era5"])
def test_too_many_requests_waits_as_asked(name, archives, ask):
    play(
        archives,
        name,
        Reply(429, b"slow down", {"Retry-After": "0"}),
        Reply(body=sample(name)),
    )
    check_contract(fetch(name, ask()))
    assert len(archives.asked) == 2


def test_retry_after_is_honoured_and_a_long_one_reported(archives, ask):
    play(
        archives,
        "open-meteo",
        Reply(429, b"", {"Retry-After": "1"}),
        Reply(body=sample("open-meteo")),
    )
    import time

    start = time.monotonic()
    fetch("open-meteo", ask())
    assert time.monotonic() - start >= 1.0
    play(archives, "nasa-power", Reply(429, b"", {"Retry-After": "4000"}))
    with pytest.raises(ArchiveError, match="asks to wait 4000 s"):
        fetch("nasa-power", ask())


@pytest.mark.parametrize("name", [n for n in SAMPLE_OF if n != "era5"])
def test_server_error_then_success(name, archives, ask):
    play(archives, name, Reply(500, b"oops"), Reply(body=sample(name)))
    check_contract(fetch(name, ask()))


@pytest.mark.parametrize("name", SAMPLE_OF)
def test_cut_in_mid_download_then_whole(name, archives, ask):
    good = sample(name)
    half = Reply(body=good[: len(good) // 2], claim=len(good))
    play(archives, name, half, Reply(body=good))
    check_contract(fetch(name, ask()))


@pytest.mark.parametrize("name", ["open-meteo", "ghcnh", "dwd"])
def test_always_cut_short_is_one_line_and_not_kept(name, archives, ask):
    good = sample(name)
    play(archives, name, Reply(body=good[: len(good) // 2], claim=len(good)))
    with pytest.raises(ArchiveError, match="broke off") as caught:
        fetch(name, ask())
    assert "\n" not in str(caught.value)
    play(archives, name)
    check_contract(fetch(name, ask()))


def test_no_answer_in_time(archives, ask):
    play(archives, "ghcnh", Reply(body=sample("ghcnh"), sleep=1.0))
    with pytest.raises(ArchiveError, match="does not answer in time"):
        fetch("ghcnh", ask(timeout=(1.0, 0.1), retries=1))


def test_nobody_there(ask):
    session = ask(mirror="http://127.0.0.1:9", retries=0)
    with pytest.raises(ArchiveError, match="cannot be reached"):
        fetch("ghcnh", session)


@pytest.mark.parametrize("name", [n for n in SAMPLE_OF if n != "era5"])
def test_a_web_page_instead_of_data_is_refused_and_not_kept(name, archives, ask):
    page = b"<!DOCTYPE html><html><title>Down for repairs</title></html>"
    play(archives, name, Reply(body=page))
    with pytest.raises(ArchiveError, match=r"web page instead of data \(Down for"):
        fetch(name, ask())
    play(archives, name)
    check_contract(fetch(name, ask()))


@pytest.mark.parametrize(
    ("body", "why"),
    [
        (b'{"error": true, "reason": "Daily limit exceeded"}', "Daily limit exceeded"),
        (b"ERROR: unknown station", "ERROR: unknown station"),
        (b"", "empty reply"),
    ],
)
def test_error_text_with_status_200_is_refused_and_not_kept(body, why, archives, ask):
    play(archives, "open-meteo", Reply(body=body))
    with pytest.raises(ArchiveError, match=why):
        fetch("open-meteo", ask())
    with pytest.raises(ArchiveError, match="not kept on this computer"):
        fetch("open-meteo", ask(offline=True))


def test_refusal_with_its_reason(archives, ask):
    body = b'{"error": true, "reason": "Latitude must be in range of -90 to 90"}'
    play(archives, "open-meteo", Reply(400, body))
    with pytest.raises(ArchiveError, match=r"refused \(400\): Latitude must be"):
        fetch("open-meteo", ask())


@pytest.mark.parametrize("name", [n for n in SAMPLE_OF if n != "era5"])
def test_changed_format_is_one_line(name, archives, ask):
    play(archives, name, Reply(body=b"alpha;beta\n1;2\n3;4\n"))
    with pytest.raises(ArchiveError) as caught:
        fetch(name, ask())
    assert "\n" not in str(caught.value)


def test_wrong_encoding_is_read_as_what_it_is(archives, ask):
    text = sample("eccc").decode("utf-8-sig").encode("cp1252")
    header = {"Content-Type": "text/csv; charset=utf-8"}
    play(archives, "eccc", Reply(body=text, headers=header))
    check_contract(fetch("eccc", ask()))


def test_huge_answer_is_stopped(archives, ask, monkeypatch):
    monkeypatch.setattr("emcforecast.weather.network.transport.MOST", 1000)
    play(archives, "ghcnh")
    with pytest.raises(ArchiveError, match="larger than 1,000 bytes"):
        fetch("ghcnh", ask())


def test_redirect_is_followed_and_kept(archives, ask):
    (request,) = QUICK["ghcnh"].requests(PLACE, START, END)
    place = Reply(301, b"", {"Location": f"{archives.url}/elsewhere/x.psv"})
    archives.plan("elsewhere", Reply(body=sample("ghcnh")))
    archives.plan(request.url.split("/")[2], place)
    check_contract(fetch("ghcnh", ask()))
    count = len(archives.asked)
    check_contract(fetch("ghcnh", ask()))
    assert len(archives.asked) == count


def let_expire(folder):
    """Make every kept reply an old one; its last line is the SHA-256 of the others."""
    for path in folder.glob("*.json"):
        kept = json.loads(path.read_text().rpartition("\n")[0])
        text = json.dumps(kept | {"expires": "2020-01-01T00:00:00+00:00"})
        path.write_text(f"{text}\n{hashlib.sha256(text.encode()).hexdigest()}")


def test_recent_reply_expires_and_is_used_stale_with_a_warning(archives, ask):
    yesterday = date.today() - timedelta(days=1)
    request = Request("https://weather.example/recent", label="now", last=yesterday)
    archives.plan("recent", Reply(body=b"first"), Reply(500, b""))
    session = ask(retries=0)
    assert session.get(request, QUICK["ghcnh"]) == b"first"
    assert session.get(request, QUICK["ghcnh"]) == b"first"
    assert len(archives.asked) == 1
    session.close()
    let_expire(session.folder)
    late = ask(retries=0)
    assert late.get(request, QUICK["ghcnh"]) == b"first"
    assert len(archives.asked) == 2
    assert "could not be asked anew" in late.said[0]


def test_an_old_reply_used_in_need_is_not_kept_as_final(archives, ask, tmp_path):
    play(archives, "ghcnh")
    fetch("ghcnh", ask())
    cache = tmp_path / "cache"
    for path in cache.glob("read-*.npz"):
        path.unlink()
    let_expire(cache)
    play(archives, "ghcnh", Reply(500, b""))
    late = ask(retries=0)
    check_contract(fetch("ghcnh", late))
    assert "could not be asked anew" in late.said[0]
    assert not list(cache.glob("read-*.npz"))
    play(archives, "ghcnh")
    fetch("ghcnh", ask())
    assert list(cache.glob("read-*.npz"))


def test_a_job_done_before_its_span_was_final_is_done_again(archives, ask, tmp_path):
    request = QUICK["era5"].requests(PLACE, START, END)[0]
    play(archives, "era5")
    ask().get(request, QUICK["era5"])
    (kept,) = (tmp_path / "cache").glob("job-*.bin")
    count = len(archives.asked)
    ask().get(request, QUICK["era5"])
    assert len(archives.asked) == count
    # A week after the span ended: it may have changed since.
    kept.write_bytes(b"early")
    written = datetime(2019, 1, 9).timestamp()
    os.utime(kept, (written, written))
    offline = ask(offline=True)
    assert offline.get(request, QUICK["era5"]) == b"early"
    assert "using what was kept on 2019-01-09" in offline.said[0]
    play(archives, "era5")
    assert ask().get(request, QUICK["era5"]) == sample("era5")
    assert kept.read_bytes() == sample("era5")


def test_key_is_sent_and_found_nowhere_else(archives, ask, caplog):
    caplog.set_level(logging.DEBUG)
    play(archives, "era5")
    session = ask()
    fetch("era5", session)
    assert "top-secret-key" in archives.secrets
    assert "top-secret-key" not in caplog.text
    for path in session.folder.rglob("*"):
        assert b"top-secret-key" not in path.read_bytes()
    archives.plan("/execution", Reply(401, b'{"detail": "bad key"}'))
    with pytest.raises(ArchiveError, match="check the key") as caught:
        fetch_place(QUICK["era5"], PLACE, START, START, session=session)
    assert "top-secret-key" not in str(caught.value)


def test_without_a_key_it_says_which_variable(ask, monkeypatch):
    monkeypatch.delenv("EMCFORECAST_CDS_KEY")
    with pytest.raises(ArchiveError, match="set the environment variable EMCFORECAST"):
        fetch("era5", ask())


def test_failed_job_gives_its_reason(archives, ask):
    archives.plan("/execution", Reply(201, b'{"jobID": "j1", "status": "accepted"}'))
    archives.plan("/jobs/j1", Reply(body=b'{"status": "failed", "message": "no area"}'))
    with pytest.raises(ArchiveError, match="failed: no area"):
        fetch("era5", ask())


def test_cache_that_cannot_be_written_warns_once_and_goes_on(archives, ask, tmp_path):
    block = tmp_path / "a file"
    block.write_text("")
    play(archives, "ghcnh")
    session = ask(folder=block / "cache")
    check_contract(fetch("ghcnh", session))
    assert len(session.said) == 1
    assert "EMCFORECAST_CACHE" in session.said[0]


def test_cache_that_becomes_read_only_warns_once_and_goes_on(
    archives, ask, monkeypatch
):
    play(archives, "ghcnh")
    session = ask()

    def refuse(**_):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(
        "emcforecast.weather.network.transport.tempfile.mkstemp", refuse
    )
    check_contract(fetch("ghcnh", session))
    assert "Permission denied" in session.said[0]


def test_interrupted_fetch_goes_on_where_it_stopped(archives, ask):
    good = Reply(body=sample("isd-lite"))
    archives.plan("isd-lite/2020", Reply(500, b""))
    archives.plan("isd-lite", good)
    span = (date(2018, 1, 1), date(2021, 12, 31))
    with pytest.raises(ArchiveError, match="out of order"):
        fetch_place(QUICK["isd-lite"], PLACE, *span, session=ask())
    archives.plan("isd-lite/2020", good)
    archives.asked.clear()
    seen = []
    fetch_place(
        QUICK["isd-lite"],
        PLACE,
        *span,
        session=ask(),
        progress=lambda done, of, label: seen.append((done, of, label)),
    )
    assert [path.split("/")[-2] for path in archives.asked] == ["2020", "2021"]
    assert seen[0] == (0, 4, "2018")
    assert seen[-1] == (4, 4, "")


def test_a_year_the_archive_lacks_is_said_and_passed_over(archives, ask):
    archives.plan("isd-lite/2019", Reply(body=sample("isd-lite")))
    series = fetch_place(
        QUICK["isd-lite"],
        PLACE,
        date(2018, 1, 1),
        date(2019, 12, 31),
        session=ask(),
    )
    assert "the archive has nothing for 2018" in repair_sentences(series)


def test_only_the_days_asked_for_are_kept(archives, ask):
    play(archives, "dwd")
    day = (date(2019, 1, 2), date(2019, 1, 2))
    series = fetch_place(QUICK["dwd"], PLACE, *day, session=ask())
    assert series.sizes["time"] == 24
    long_ago = (date(1990, 1, 1), date(1990, 12, 31))
    with pytest.raises(ArchiveError, match="sent 2019-01-01 to 2019-01-02 and nothing"):
        fetch_place(QUICK["dwd"], PLACE, *long_ago, session=ask())


def test_pace_is_kept_below_the_cache(archives, ask):
    import time

    archive = replace(ARCHIVES["isd-lite"], pause=0.2)
    archives.plan("isd-lite", Reply(body=sample("isd-lite")))
    span = (date(2018, 1, 1), date(2020, 12, 31))
    session = ask()
    start = time.monotonic()
    fetch_place(archive, PLACE, *span, session=session)
    first = time.monotonic() - start
    start = time.monotonic()
    fetch_place(archive, PLACE, *span, session=session)
    assert first >= 0.4
    assert time.monotonic() - start < first


SCRIPT = """
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path
from emcforecast.weather.archives.record import Place
from emcforecast.weather.archives.registry import ARCHIVES
from emcforecast.weather.fetch import (fetch_place)
from emcforecast.weather.network.session import Session
archive = replace(ARCHIVES["isd-lite"], pause=0.0)
with Session(folder=Path(sys.argv[1]), mirror=sys.argv[2]) as session:
    place = Place(station="XSAMPL1")
    span = date(2000, 1, 1), date(2019, 12, 31)
    ds = fetch_place(archive, place, *span, session=session)
print(ds.sizes["time"])
"""


def test_two_processes_at_once(archives, tmp_path):
    archives.plan("isd-lite", Reply(body=sample("isd-lite")))
    command = [sys.executable, "-W", "error", "-c", SCRIPT, str(tmp_path), archives.url]
    running = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for _ in range(2)
    ]
    outputs = [process.communicate(timeout=60) for process in running]
    assert [out.strip() for out, _ in outputs] == [b"48", b"48"], outputs
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.parametrize("name", [n for n in SAMPLE_OF if n != "era5"])
def test_a_reply_that_cannot_be_read_is_asked_for_again(name, archives, ask):
    """A portal's page in place of data, sent once with status 200, is not kept."""
    page = b"<html><body>The service is being repaired.</body></html>"
    play(archives, name, Reply(body=page), Reply(body=sample(name)))
    with pytest.raises(ArchiveError):
        fetch(name, ask())
    check_contract(fetch(name, ask()))


@pytest.mark.parametrize("how", ["emptied", "cut", "flipped", "noise"])
def test_a_damaged_kept_reply_is_asked_for_again(how, archives, ask):
    play(archives, "open-meteo")
    first = fetch("open-meteo", ask())
    count = len(archives.asked)
    for path in (ask().folder).iterdir():
        held = path.read_bytes()
        path.write_bytes(
            {
                "emptied": b"",
                "cut": held[: len(held) // 2],
                "flipped": held.replace(b"A", b"B", 1),
                "noise": bytes(range(256)),
            }[how]
            if path.suffix == ".json"
            else b"PK\x03\x04 torn"
        )
    assert fetch("open-meteo", ask()).identical(first)
    assert len(archives.asked) > count
    fetch("open-meteo", ask(offline=True))


@pytest.mark.parametrize("says", ["soon", "9" * 5000, "-5", "Wed, 99 Foo"])
def test_a_wait_that_cannot_be_read_is_no_reason_to_stop(says, archives, ask):
    busy = Reply(429, b"slow down", {"Retry-After": says})
    play(archives, "open-meteo", busy, Reply(body=sample("open-meteo")))
    check_contract(fetch("open-meteo", ask()))


def test_a_wait_is_announced(archives, ask, monkeypatch):
    waited = []
    monkeypatch.setattr(
        "emcforecast.weather.network.transport.time.sleep", waited.append
    )
    busy = Reply(503, b"", {"Retry-After": "90"})
    play(archives, "open-meteo", busy, Reply(body=sample("open-meteo")))
    session = ask()
    fetch("open-meteo", session)
    assert 90 in waited
    assert any("waiting 90 s" in line for line in session.said)


def test_a_key_does_not_follow_to_another_host(archives, ask):
    """``localhost`` and ``127.0.0.1`` are two hosts to a browser and to us."""
    other = archives.url.replace("127.0.0.1", "localhost")
    archives.plan("/execution", Reply(201, b'{"jobID": "j1", "status": "accepted"}'))
    moved = {"Location": f"{other}/stolen/jobs/j1"}
    archives.plan("/stolen", Reply(body=b'{"status": "failed", "message": "no"}'))
    archives.plan("/jobs/j1", Reply(302, b"", moved))
    with pytest.raises(ArchiveError):
        fetch("era5", ask())
    sent = dict(zip(archives.asked, archives.secrets, strict=True))
    assert sent["/stolen/jobs/j1"] is None
    assert "top-secret-key" in archives.secrets


@pytest.mark.parametrize(
    "to", ["file:///etc/passwd", "ftp://x.example/", "http://[", "HERE", "gopher:"]
)
def test_a_redirect_that_leads_nowhere_is_one_line(to, archives, ask):
    host = QUICK["ghcnh"].requests(PLACE, START, END)[0].url.split("/")[2]
    target = f"{archives.url}/{host}/again" if to == "HERE" else to
    archives.plan(host, Reply(302, b"", {"Location": target}))
    with pytest.raises(ArchiveError) as caught:
        fetch("ghcnh", ask(retries=0))
    assert "\n" not in str(caught.value)
    assert len(archives.asked) < 20


def test_a_reply_that_drips_has_a_deadline(archives, ask):
    drip = Reply(body=sample("ghcnh"))
    drip.drip = 0.05
    play(archives, "ghcnh", drip)
    with pytest.raises(ArchiveError, match="does not answer in time"):
        fetch("ghcnh", ask(deadline=0.6, retries=0))


def test_a_job_that_never_ends_is_given_up(archives, ask, monkeypatch):
    monkeypatch.setattr("emcforecast.weather.network.session.JOB_LIMIT", 0.3)
    archives.plan("/execution", Reply(201, b'{"jobID": "j1", "status": "accepted"}'))
    archives.plan("/jobs/j1", Reply(body=b'{"status": "running"}'))
    with pytest.raises(ArchiveError, match="has worked on this for"):
        fetch("era5", ask())


@pytest.mark.parametrize("node", [b"null", b"[]", b'"x"', b'{"asset": []}', b"1"])
def test_a_job_with_a_reply_of_another_shape_is_one_line(node, archives, ask):
    play(archives, "era5")
    archives.plan("/jobs/j1/results", Reply(body=node))
    archives.plans["/jobs/j1/results"] = [Reply(body=node)]
    archives.plans = {
        key: archives.plans[key] for key in sorted(archives.plans, key=len)[::-1]
    }
    with pytest.raises(ArchiveError):
        fetch("era5", ask())
