"""Years outside of any weather record are refused; nanoseconds hold 1678 to 2262 only.

That span is the one numpy's documentation gives for datetime64[ns].
"""

import datetime as dt
import re

import numpy as np
import pytest

from emcforecast.errors import ArchiveError, WeatherError
from emcforecast.weather.archives import isd, meteostat, open_meteo, power
from emcforecast.weather.hints import Hints
from emcforecast.weather.read import read_weather
from emcforecast.weather.times.calendar import in_nanoseconds

HOURS = 24 * 40


def rows(year, shape):
    """Return a table of 40 days; dates of the real calendar, the year replaced."""
    begin = dt.datetime(2001, 1, 1)
    lines = []
    for index in range(HOURS):
        when = begin + dt.timedelta(hours=index)
        lines.append(f"{shape(when, year)},{10 + index % 7},{60 + index % 30}")
    return "\n".join(lines) + "\n"


SHAPES = {
    "ISO": ("time,temp_c,rh_pct\n", lambda w, y: f"{y:04d}{w:-%m-%d %H:%M}"),
    "day first": ("time,temp_c,rh_pct\n", lambda w, y: f"{w:%d/%m/}{y:04d}{w: %H:%M}"),
    "in parts": (
        "year,month,day,hour,temp_c,rh_pct\n",
        lambda w, y: f"{y:04d},{w.month},{w.day},{w.hour}",
    ),
    "day of the year": (
        "year,doy,hour,temp_c,rh_pct\n",
        lambda w, y: f"{y:04d},{w.timetuple().tm_yday},{w.hour}",
    ),
}


@pytest.mark.parametrize("year", [1, 300, 1600, 2500, 9999])
@pytest.mark.parametrize("shape", SHAPES)
def test_a_year_of_no_weather_is_refused_by_name(shape, year, tmp_path):
    head, make = SHAPES[shape]
    file = tmp_path / "odd.csv"
    file.write_text(head + rows(year, make))
    with pytest.raises(WeatherError, match=rf"in the year {year};.*1700 to 2200"):
        read_weather(file)


@pytest.mark.parametrize("shape", SHAPES)
def test_1700_is_read_as_it_stands(shape, tmp_path):
    head, make = SHAPES[shape]
    file = tmp_path / "old.csv"
    file.write_text(head + rows(1700, make))
    found = read_weather(file, utc_offset=0)
    assert str(found["time"].to_numpy()[0])[:16] == "1700-01-01T00:00"
    assert found.sizes["time"] == HOURS


def test_a_big_table_of_2500_is_refused_too(tmp_path):
    begin = dt.datetime(2500, 1, 1)
    file = tmp_path / "big.csv"
    file.write_text(
        "time_utc,temp_c,rh_pct\n"
        + "".join(
            f"{begin + dt.timedelta(hours=i):%Y-%m-%d %H:%M},10.5,60.5\n"
            for i in range(24 * 400)
        )
    )
    with pytest.raises(WeatherError, match="in the year 2500"):
        read_weather(file)


REPLIES = {
    "ISD-lite": (
        isd.parse_lite,
        b"2500 01 01 00    50    20 10132   270    30     0     0 -9999\n",
    ),
    "Meteostat": (
        meteostat.parse,
        b"year,month,day,hour,temp,rhum\n2500,1,1,0,5,80\n2500,1,1,1,5,81\n",
    ),
    "Open-Meteo": (
        open_meteo.parse,
        b'{"latitude":1,"longitude":2,"utc_offset_seconds":0,"hourly_units":'
        b'{"time":"iso8601","temperature_2m":"\\u00b0C","relative_humidity_2m":"%"},'
        b'"hourly":{"time":["2500-01-01T00:00"],"temperature_2m":[5.0],'
        b'"relative_humidity_2m":[80]}}',
    ),
    "NASA POWER": (
        power.parse,
        b'{"geometry":{"coordinates":[2,1,5]},"header":{"fill_value":-999},'
        b'"properties":{"parameter":{"T2M":{"2500010100":5.0},'
        b'"RH2M":{"2500010100":80.0}}}}',
    ),
}


@pytest.mark.parametrize("archive", REPLIES)
def test_no_reply_wraps_round_either(archive):
    parse, payload = REPLIES[archive]
    # pandas before 3 reads no times beyond 2262: they are named unreadable then.
    with pytest.raises(
        (ArchiveError, WeatherError), match=r"in the year 2500|no time of"
    ):
        parse(payload, Hints())


def test_nothing_is_moved_within_the_span():
    days = np.array(["1700-01-01", "NaT", "2200-12-31"], "datetime64[D]")
    assert (
        in_nanoseconds(days).astype("datetime64[D]").astype(str) == days.astype(str)
    ).all()
    with pytest.raises(WeatherError, match=re.escape("in the year 2201")):
        in_nanoseconds(np.array(["2201-01-01"], "datetime64[s]"))
