"""The commands that ask archives, against a real server on this computer."""

import json
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

from emcforecast.cli.group import cli
from emcforecast.report.repairs import repair_sentences
from emcforecast.weather.archives.record import Place, Station
from emcforecast.weather.archives.registry import ARCHIVES
from emcforecast.weather.fetch import fetch_address, is_archive_address
from emcforecast.weather.network.places import nearest, parse_places
from emcforecast.weather.network.session import Session
from emcforecast.weather.read import read_weather
from emcforecast.weather.repairs import RepairKind, repair

SAMPLES = Path(__file__).parents[2] / "data" / "samples"


def reply(body, status=200):
    return SimpleNamespace(status=status, body=body, headers={}, sleep=0.0, claim=None)


def found(*places):
    listed = [
        {"name": name, "latitude": lat, "longitude": lon, "country": "Nowhere"}
        for name, lat, lon in places
    ]
    return reply(json.dumps({"results": listed, "generationtime_ms": 0.4}).encode())


STATIONS = b"""XXI0000SAMP,46.5000,8.5000,512.0,,SAMPLE FIELD,,,,
XXI0000HILL,46.6000,8.5000,1912.0,,SAMPLE HILL,,,,
XXI0000FARR,40.0000,8.5000,12.0,,FAR SHORE,,,,
"""


def run(*words):
    return CliRunner().invoke(cli, list(words))


def test_archives_lists_all_with_their_terms():
    shown = run("archives").stdout.splitlines()
    assert max(len(line) for line in shown) <= 80
    outcome = run("archives", "--json")
    listed = json.loads(outcome.stdout)["result"]["archives"]
    assert [row["archive"] for row in listed] == list(ARCHIVES)
    assert all(row["licence"] and row["attribution"] for row in listed)


def test_fetch_writes_a_file_that_reads_back(played, tmp_path):
    played.plan("archive-api", reply((SAMPLES / "open_meteo.json").read_bytes()))
    path = tmp_path / "weather.nc"
    words = ("46.5,8.5", "--from", "open-meteo", "--years", "2019", "-o", str(path))
    outcome = run("fetch", *words)
    assert outcome.exit_code == 0, outcome.output
    assert "Open-Meteo.com" in outcome.output
    lines = [line for line in outcome.stdout.splitlines() if str(path) not in line]
    assert max(len(line) for line in lines) <= 80
    series = read_weather(path, gaps="keep")
    assert series.sizes["time"] == 48
    assert series.attrs["attribution"].startswith("Weather data by Open-Meteo.com")
    count = len(played.asked)
    assert run("fetch", *words, "--offline").exit_code == 0
    assert len(played.asked) == count


def test_several_places_of_a_name_are_listed_and_none_guessed(played, tmp_path):
    played.plan("geocoding", found(("Sample", 46.5, 8.5), ("Sample", 10.0, 20.0)))
    outcome = run(
        "fetch", "Sample", "--from", "open-meteo", "-o", str(tmp_path / "a.nc")
    )
    assert outcome.exit_code == 2
    assert "46.5000,8.5000" in outcome.output
    assert "10.0000,20.0000" in outcome.output
    listed = run("places", "Sample")
    assert listed.output.count("Sample") == 2


def test_place_that_is_not_found(played):
    played.plan("geocoding", reply(b'{"generationtime_ms": 0.1}'))
    outcome = run("places", "Xyzzy")
    assert outcome.exit_code == 2
    assert "no place called 'Xyzzy'" in outcome.output


def test_nearest_station_of_an_archive_is_taken_and_named(played, tmp_path):
    played.plan("ghcnh-station-list", reply(STATIONS))
    played.plan(
        "GHCNh_XXI0000SAMP", reply((SAMPLES / "ghcnh_by_year.psv").read_bytes())
    )
    path = tmp_path / "w.nc"
    words = ("46.49,8.5", "--from", "ghcnh", "--years", "2019:2019", "-o", str(path))
    outcome = run("fetch", *words)
    assert outcome.exit_code == 0, outcome.output
    assert "nearest station: XXI0000SAMP SAMPLE FIELD: 1 km away" in outcome.output
    listed = run("places", "46.49,8.5", "--stations", "ghcnh")
    assert "XXI0000HILL SAMPLE HILL: 12 km away" in listed.output


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--from", "open-metro"), "Did you mean 'open-meteo'"),
        (("--from", "open-meteo", "--years", "abc"), "write A:B"),
        (("--from", "open-meteo", "--years", "2010:2005"), "turn them round"),
        (("--from", "open-meteo", "--years", "1900:1910"), "the archive has 1940"),
    ],
)
def test_refusals_are_one_line(words, why, tmp_path):
    outcome = run("fetch", "46.5,8.5", *words, "-o", str(tmp_path / "w.nc"))
    assert outcome.exit_code == 2
    assert why in outcome.output


@pytest.mark.parametrize(
    ("name", "said"), [("x.txt", "end its name in .nc"), ("no/such/x.nc", "no/such")]
)
def test_the_file_is_looked_at_before_the_archive(tmp_path, name, said):
    words = ("--from", "open-meteo", "--offline", "-o", str(tmp_path / name))
    outcome = run("fetch", "1,2", *words)
    assert outcome.exit_code == 2
    assert said in outcome.stderr
    assert len(outcome.stderr.strip().splitlines()) == 1


def test_an_address_is_weather_too(played):
    assert is_archive_address("ghcnh:XXI0000SAMP")
    assert not is_archive_address("weather.csv")
    played.plan(
        "GHCNh_XXI0000SAMP", reply((SAMPLES / "ghcnh_by_year.psv").read_bytes())
    )
    series = fetch_address("ghcnh:XXI0000SAMP")
    assert series.attrs["station"] == "XXI0000SAMP"
    assert read_weather("ghcnh:XXI0000SAMP", gaps="keep").sizes == series.sizes


def test_an_address_tells_how_far_it_is_and_what_is_stale(played, monkeypatch):
    def warned(**given):
        given["on_notice"](
            repair(RepairKind.STALE_REPLY, archive="x", day="2020-01-01")
        )
        return Session(**given)

    monkeypatch.setattr("emcforecast.weather.fetch.Session", warned)
    body = (SAMPLES / "ghcnh_by_year.psv").read_bytes()
    played.plan("GHCNh_XXI0000SAMP", reply(body))
    seen = []
    series = read_weather(
        "ghcnh:XXI0000SAMP", gaps="keep", progress=lambda *step: seen.append(step)
    )
    assert any("kept on 2020-01-01" in line for line in repair_sentences(series))
    done, of, _ = seen[-1]
    assert done == of == 15
    assert [step[0] for step in seen] == list(range(16))


def test_distance_and_height_order_the_stations():
    here = Place(46.5, 8.5, elevation=500.0)
    stations = [
        Station("peak", "Peak", 46.5, 8.6, 2500.0),
        Station("vale", "Vale", 46.5, 8.8, 520.0),
        Station("old", "Old", 46.5, 8.5, 500.0, 1900, 1950),
    ]
    near = nearest(stations, here, years=(2000, 2020))
    assert [item.station.id for item in near] == ["vale", "peak"]
    # One degree of longitude at 46.5 N is 76.5 km on a sphere of 6371 km.
    assert near[0].distance == pytest.approx(0.3 * 76.54, rel=0.002)
    assert near[1].climb == 2000.0


@pytest.mark.parametrize(
    ("reader", "text", "station"),
    [
        ("ghcnh", STATIONS.decode(), ("XXI0000SAMP", 46.5, 512.0)),
        (
            "isd-lite",
            '"USAF","WBAN","STATION NAME","CTRY","STATE","ICAO","LAT","LON","ELEV(M)",'
            '"BEGIN","END"\n"099999","99999","SAMPLE","XX","","","+46.500","+008.500",'
            '"+0512.0","19500101","20250801"\n',
            ("099999-99999", 46.5, 512.0),
        ),
        (
            "dwd",
            "Stations_id von_datum bis_datum Stationshoehe geoBreite geoLaenge Name\n"
            "----------- --------- --------- ------------- --------- --------- ----\n"
            "00099 19500401 20261101            512     46.5000    8.5000 Erlengrund"
            "                 Nirgendwo\n",
            ("00099", 46.5, 512.0),
        ),
        (
            "eccc",
            "Modified Date: 2026-01-01\nStation Inventory Disclaimer\n\n"
            '"Name","Province","Climate ID","Station ID","Latitude (Decimal Degrees)",'
            '"Longitude (Decimal Degrees)","Elevation (m)","HLY First Year",'
            '"HLY Last Year"\n"FIELD","XX","1","99","46.5","-99","512","1953","2020"\n',
            ("99", 46.5, 512.0),
        ),
        (
            "meteostat",
            '[{"id": "99999", "name": {"en": "Sample"}, "location": {"latitude": 46.5,'
            '"longitude": 8.5, "elevation": 512}, "inventory": {"hourly": {"start": '
            '"1950-01-01", "end": "2026-01-01"}}}]',
            ("99999", 46.5, 512.0),
        ),
    ],
)
def test_station_lists(reader, text, station):
    read = ARCHIVES[reader].read_stations
    first = read(text.encode())[0]
    assert (first.id, first.latitude, first.elevation) == station


def test_place_search_reply():
    (one,) = parse_places(found(("Sample", 46.5, 8.5)).body)
    assert one.label().startswith("46.5000,8.5000  Sample (Nowhere")
