"""A weather forecast joined to a record, and what the boards make of it.

`data/samples/open_meteo_ahead.json.gz` is a reply in the archive's format, invented by
`make_samples.py`: 61 days by two formulas, then 16 days at 8 °C and 95 %. The record
here is by the same formulas, 2 K colder and with 0.9 of the vapour pressure.
"""

import gzip
import json
from datetime import date
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.ensemble.air import storage_air
from emcforecast.ensemble.follow import follow
from emcforecast.ensemble.route import Leg, Stack
from emcforecast.ensemble.weather_ahead import temperature_of
from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.physics.moist_air import relative_humidity, vapour_pressure
from emcforecast.report.repairs import repair_sentences
from emcforecast.storage.setting_text import parse_setting
from emcforecast.weather.archives import open_meteo
from emcforecast.weather.archives.record import Place
from emcforecast.weather.fetch import add_forecast, fetch_address
from emcforecast.weather.formats.content import unpack
from emcforecast.weather.formats.netcdf import write_weather
from emcforecast.weather.hints import Hints
from emcforecast.weather.mend import merge
from emcforecast.weather.read import read_bytes, read_weather
from emcforecast.weather.series import check_contract, make_series
from emcforecast.web.app import create_app
from emcforecast.web.serving import Serving
from emcforecast.wood.board import Board
from emcforecast.yard.file import read_yard
from emcforecast.yard.state import yard_state, yard_weather

D, HOUR = np.datetime64, np.timedelta64(1, "h")
SAMPLE = Path(__file__).parents[2] / "data" / "samples" / "open_meteo_ahead.json.gz"
NOW, LAST = D("2019-01-01T00"), D("2019-01-16T23")
COLDER, DRIER = 2.0, 0.9


@pytest.fixture(autouse=True)
def on_new_year(monkeypatch):
    """Let the clock say that the first forecast hour is the next to come."""
    monkeypatch.setattr(merge, "this_hour", lambda: NOW)


def air_at(time):
    k = (time - NOW) / np.timedelta64(1, "h")
    wave = np.sin(2 * np.pi * (k - 9) / 24)
    t, e = 4 + 5 * wave, vapour_pressure(4 + 5 * wave, 75 - 15 * wave)
    return t - COLDER, np.minimum(relative_humidity(t - COLDER, DRIER * e), 100.0)


def record(first="2015-01-01", end="2018-12-27", **more):
    time = np.arange(D(first, "h"), D(end, "h"))
    t, rh = air_at(time)
    return make_series(
        time, {"air_temperature": t, "relative_humidity": rh}, step="hour",
        kind="reanalysis", source="made", latitude=46.5, longitude=8.5,
        utc_offset=1.0, **more,
    )  # fmt: skip


def forecast():
    return read_bytes(SAMPLE.read_bytes(), SAMPLE.name, Hints())


def test_the_forecast_is_joined_without_its_bias():
    joined = merge.join_forecast(record(), forecast())
    assert joined["time"].to_numpy()[-1] == LAST
    assert D(joined.attrs["forecast_from"]) == NOW
    assert any("384 hours" in line for line in repair_sentences(joined))
    # The last days before now come from the other source, as the record would be.
    span = slice(D("2018-12-28"), D("2018-12-31T23"))
    part = joined.sel(time=span)
    t, rh = air_at(part["time"].to_numpy())
    assert np.abs(part["air_temperature"].to_numpy() - t).max() < 0.06
    assert np.abs(part["relative_humidity"].to_numpy() - rh).max() < 1.0
    coming = joined.sel(time=slice(NOW, None))
    assert coming["air_temperature"].to_numpy() == pytest.approx(8.0 - COLDER, abs=0.05)
    e = DRIER * float(vapour_pressure(8.0, 95.0))
    most = min(float(relative_humidity(8.0 - COLDER, e)), 100.0)
    assert coming["relative_humidity"].to_numpy() == pytest.approx(most, abs=1.0)


def test_a_record_that_ends_too_long_ago_is_refused():
    with pytest.raises(WeatherError, match="ask for years up to this one"):
        merge.join_forecast(record(end="2018-01-01"), forecast())


def test_what_is_joined_outlives_the_file(tmp_path):
    """Read again weeks later, the forecast is still no record."""
    path = tmp_path / "w.nc"
    write_weather(merge.join_forecast(record(), forecast()), path)
    assert read_weather(path).attrs["forecast_from"] == str(NOW)


def test_the_record_alone_is_the_record():
    """What is told of a climate knows no forecast."""
    joined = merge.join_forecast(record(), forecast())
    alone = merge.without_forecast(joined)
    assert alone["time"].to_numpy()[-1] == NOW - HOUR
    assert "forecast_from" not in alone.attrs
    assert alone["air_temperature"].attrs["units"] == "degC"
    check_contract(alone)
    assert merge.without_forecast(alone) is alone


@cache
def saved_reply(first):
    """Record and forecast in one reply, as a person saves it from the archive."""
    reply = json.loads(gzip.decompress(SAMPLE.read_bytes()))
    time = np.arange(D(first, "h"), NOW)
    k = (time - NOW) / np.timedelta64(1, "h")
    wave = np.sin(2 * np.pi * (k - 9) / 24)
    hours = reply["hourly"]
    n = 61 * 24
    hours["time"] = [str(t) + ":00" for t in time.astype("datetime64[h]")] + hours[
        "time"
    ][n:]
    before = {
        "temperature_2m": (4 + 5 * wave).round(1),
        "relative_humidity_2m": (75 - 15 * wave).round(),
        "precipitation": 0.0 * wave,
        "wind_speed_10m": 2.0 + 0.0 * wave,
    }
    for name, values in before.items():
        hours[name] = values.tolist() + hours[name][n:]
    return json.dumps(reply).encode()


@pytest.mark.parametrize("first", ["2017-01-01", "2018-06-01"])
def test_hours_after_now_in_a_saved_reply_are_a_forecast(tmp_path, first):
    path = tmp_path / "saved.json"
    path.write_bytes(saved_reply(first))
    attrs = read_weather(path).attrs
    if first == "2017-01-01":
        assert attrs["forecast_from"] == str(NOW)
        later = read_weather(path, forecast_from="2019-01-05T00")
        assert later.attrs["forecast_from"] == "2019-01-05T00"
    else:
        # Less than a year of record: nothing to forecast from.
        assert "forecast_from" not in attrs


def test_what_is_no_time_is_refused():
    with pytest.raises(WeatherError, match="is no time"):
        Hints(forecast_from="soon")


def boards(weather, begun, days=120):
    bank = storage_air(weather, [parse_setting("outdoor=stack-roof")], draws=2)
    stack = Stack(Board("basswood"), (Leg(0, D(begun)),), 12.0)
    return bank, follow(bank, stack, days)


@pytest.mark.parametrize("begun", ["2018-12-02", "2019-01-01", "2019-01-04"])
def test_damp_days_ahead_wet_stacks_made_before_and_within_them(begun):
    """Every year of the record is alike: what differs is the forecast."""
    joined = merge.join_forecast(record(), forecast())
    plain = joined.sel(time=slice(None, NOW - np.timedelta64(1, "h")))
    plain.attrs = {k: v for k, v in joined.attrs.items() if k != "forecast_from"}
    bank, damp = boards(joined, begun)
    _, dry = boards(plain, begun)
    assert bank.years.end == NOW + np.timedelta64(1, "h"), "local time is an hour on"
    day = int((D("2019-01-10") - D(begun)).astype(int))
    assert np.median(damp.mean[day]) > np.median(dry.mean[day]) + 0.8
    # Three months on both follow the same years again.
    gap = np.median(damp.mean[-1]) - np.median(dry.mean[-1])
    assert abs(gap) < 0.5 * (np.median(damp.mean[day]) - np.median(dry.mean[day]))
    # A forecast is not known to a question as of an earlier day.
    early = follow(bank, damp.stack, 120, today=D("2018-12-20"))
    if begun < "2018-12-20":
        assert np.abs(early.mean[day] - dry.mean[day]).max() < 0.3


def test_the_forecast_begins_at_the_hour_it_is_for(monkeypatch):
    """Asked for in the afternoon: the air of the day's own hours, none shifted."""
    noon = NOW + np.timedelta64(13, "h")
    joined = merge.join_forecast(record(), forecast(), now=noon)
    bank, _ = boards(joined, "2018-12-02")
    assert bank.forecast is not None
    # Local midnight is 23 h UTC of the day before, still by the formula.
    t, _ = air_at(np.array([NOW - np.timedelta64(1, "h")]))
    assert temperature_of(bank.forecast[0, :1]) == pytest.approx(t, abs=0.06)
    assert np.array_equal(bank.tables.table[0, -14], bank.forecast[0, 0])
    assert bank.forecast.shape[1] == 16 * 24 + 1


def reply_of(body, status=200):
    return SimpleNamespace(status=status, body=body, headers={}, sleep=0.0, claim=None)


@pytest.fixture
def record_and_forecast(played):
    """Serve the record as the archive does, year by year, and the forecast."""
    whole = json.loads(saved_reply("2016-01-01"))
    stamps = np.array(whole["hourly"]["time"], dtype="datetime64[h]")
    past = stamps < D("2018-12-27", "h")

    def year(path):
        if "/v1/archive" not in path:
            return None
        asked = path.split("start_date=")[1][:4]
        years = stamps.astype("datetime64[Y]").astype(str)
        keep = np.flatnonzero(past & (years == asked))
        if not keep.size:
            return None
        hours = {k: [v[i] for i in keep] for k, v in whole["hourly"].items()}
        return reply_of(json.dumps({**whole, "hourly": hours}).encode())

    played.rule = year
    played.plan("/v1/forecast", reply_of(gzip.decompress(SAMPLE.read_bytes())))
    return played


def test_fetch_ahead_then_dry(record_and_forecast, tmp_path):
    """From the archive to the date, through the command line."""
    path = tmp_path / "w.nc"
    words = ("46.5,8.5", "--from", "open-meteo", "--years", "2016:2018", "--ahead")
    done = CliRunner().invoke(cli, ["fetch", *words, "-o", str(path)])
    assert done.exit_code == 0, done.output
    assert "weather forecast" in done.output
    asked = [p for p in record_and_forecast.asked if "/v1/forecast" in p]
    assert len(asked) == 1
    assert "past_days=61" in asked[0]
    assert "forecast_days=16" in asked[0]
    told = CliRunner().invoke(
        cli,
        ["dry", str(path), "--stacked", "2018-12-20", "--species", "basswood",
         "--from-mc", "25", "--target", "16", "--setting", "outdoor=stack-roof",
         "--json"],
    )  # fmt: skip
    assert told.exit_code == 0, told.output
    assert json.loads(told.stdout)["result"]["target"]["p50"] > "2019-01-01"


def test_an_address_goes_on_with_the_forecast(record_and_forecast, monkeypatch):
    monkeypatch.setattr(
        "emcforecast.weather.fetch.last_whole_years",
        lambda: tuple(D(d, "D").item() for d in ("2016-01-01", "2018-12-31")),
    )
    series = fetch_address("open-meteo:46.5,8.5")
    assert series.attrs["forecast_from"] == str(NOW)
    # Without one the record still serves.
    record_and_forecast.plan("/v1/forecast", reply_of(b"{}", 503))
    alone = fetch_address("open-meteo:46.6,8.5")
    assert "forecast_from" not in alone.attrs
    assert any("no weather forecast was joined" in r for r in repair_sentences(alone))


def test_a_station_without_a_place_has_no_forecast(ask):
    lost = record()
    lost.attrs = {k: v for k, v in lost.attrs.items() if k not in ("latitude",)}
    with pytest.raises(ArchiveError, match="name it by LAT,LON"):
        add_forecast(lost, Place(station="X1"), session=ask())


def test_the_reply_is_recognised_and_of_the_archive():
    assert open_meteo.sniff(unpack(SAMPLE.read_bytes())[:4096], SAMPLE.name)
    assert forecast().sizes["time"] == 77 * 24


@pytest.mark.usefixtures("record_and_forecast")
def test_a_yard_by_its_archive_knows_the_days_ahead(tmp_path, monkeypatch):
    """Actual weather to date, then the forecast, then the years: one yard file."""
    monkeypatch.setattr(
        "emcforecast.weather.fetch.last_whole_years",
        lambda: tuple(D(d, "D").item() for d in ("2016-01-01", "2018-12-31")),
    )
    path = tmp_path / "yard.toml"
    path.write_text(
        'units = "si"\n[weather]\narchive = "open-meteo"\nplace = [46.5, 8.5]\n'
        '[setting.outdoor]\nkind = "stack-roof"\n'
        '[[stack]]\nname = "a"\nspecies = "basswood"\nthickness = "4/4"\n'
        'stacked = 2018-12-02\nfrom_mc = 14\nsetting = "outdoor"\ntarget = 10\n'
    )
    yard = read_yard(path)
    weather = yard_weather(yard)
    assert weather.attrs["forecast_from"] == str(NOW)
    today = date(2019, 1, 1)
    damp, unknowing = (
        yard_state(yard, w, today, paths=True).stacks[0].path
        for w in (weather, weather.sel(time=slice(None, NOW - HOUR)))
    )
    at = int(np.flatnonzero(damp.dates == D("2019-01-10"))[0])
    now = int(np.flatnonzero(damp.dates == D("2019-01-01"))[0])
    assert damp.middle[now] == pytest.approx(unknowing.middle[now], abs=0.1)
    assert damp.middle[at] > unknowing.middle[at] + 0.8


@pytest.fixture
def client(tmp_path):
    """A visitor of the server's pages."""
    app = create_app(Serving(keep=tmp_path / "keep", hosts=("localhost",)))
    yield app.test_client()
    app.extensions["emcforecast"].pool.close()


def page_of(client, address):
    """Get a page, waiting for its answer."""
    page = client.get(address, headers={"Accept": "text/html"})
    if page.status_code == 202:
        for job in list(
            client.application.extensions["emcforecast"].pool._jobs.values()
        ):
            assert job.ended.wait(120.0)
        page = client.get(address, headers={"Accept": "text/html"})
    return page


@pytest.mark.usefixtures("record_and_forecast")
def test_a_page_of_an_archive_says_what_the_command_says(client, monkeypatch):
    monkeypatch.setattr(
        "emcforecast.weather.fetch.last_whole_years",
        lambda: tuple(D(d, "D").item() for d in ("2016-01-01", "2018-12-31")),
    )
    query = "weather=open-meteo:46.5,8.5&thickness=30+mm"
    assert page_of(client, f"/floor?{query}").status_code == 200
    served = json.loads(client.get(f"/floor.json?{query}").data)
    words = ["floor", "open-meteo:46.5,8.5", "--thickness", "30 mm", "--json"]
    told = json.loads(CliRunner().invoke(cli, [*words, "--units", "si"]).stdout)
    for part in ("result", "weather", "warnings", "cautions"):
        assert served[part] == told[part], part
    assert served["weather"]["attribution"]


def test_an_archive_that_fails_is_told_in_place(client, played):
    played.plan("/v1/", reply_of(b"{}", 503))
    page = page_of(client, "/floor?weather=open-meteo:46.5,8.5")
    assert page.status_code == 422
    assert "Open-Meteo" in page.text
    assert "Traceback" not in page.text
    assert 'name="weather"' in page.text
