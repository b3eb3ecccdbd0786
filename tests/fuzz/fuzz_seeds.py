"""Good inputs of the readers, made here or from data/samples, small and whole."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np

from emcforecast.weather.formats.content import unpack
from emcforecast.weather.formats.netcdf import write_weather
from emcforecast.weather.read import demonstration

ROOT = Path(__file__).parents[2]


def hours_table(form: str) -> bytes:
    """Two weeks of hours in one of the ways people write them."""
    hours = np.datetime64("2021-03-01T00") + np.arange(336)
    rows = []
    for k, at in enumerate(hours):
        t = 8 + 6 * np.sin(2 * np.pi * (k - 9) / 24)
        h = 70 - 20 * np.sin(2 * np.pi * (k - 9) / 24)
        day, clock = str(at).split("T")
        y, m, d = day.split("-")
        row = {
            "iso": f"{day} {clock}:00,{t:.1f},{h:.0f},{k % 7 == 0:d}",
            "german": f"{d}.{m}.{y} {clock}:00;{int(t)},{int(t * 10) % 10};{h:.0f}",
            "us": f"{m}/{d}/{y}\t{int(clock) % 12 or 12}:00 "
            f"{'AM' if int(clock) < 12 else 'PM'}\t{t * 1.8 + 32:.1f} F\t{h:.0f}%",
            "parts": f"{y} {int(m)} {int(d)} {int(clock)} {t:.1f} {t - 4:.1f}",
            "epoch": f"{at.astype('datetime64[s]').astype(int)},{t:.2f},{h / 100:.3f}",
        }[form]
        rows.append(row)
    head = {
        "iso": "# Latitude: 46.5\ntime_utc,temp_c,rh_pct,rain_mm",
        "german": "Zeitstempel;Temperatur [°C];rel. Feuchte (%)",
        "us": "Date\tTime\tOutdoor Temp\tOutdoor Humidity",
        "parts": "year month day hour temp_c dewpoint_c",
        "epoch": "epoch,t2m (°C),rh (fraction)",
    }[form]
    return "\n".join([head, *rows]).encode()


def months_table() -> bytes:
    rows = [f"{m},{10 - 12 * np.cos(m * 0.52):.1f},{75 + m % 3}" for m in range(1, 13)]
    return "\n".join(["month,temperature_c,relative_humidity_pct", *rows]).encode()


def netcdf() -> dict[str, bytes]:
    series = demonstration().isel(time=slice(0, 480))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "own.nc"
        write_weather(series, path)
        own = path.read_bytes()
        foreign = series.rename(air_temperature="t2m", relative_humidity="rh")
        foreign = foreign[["t2m", "rh"]].drop_attrs()
        foreign["t2m"].attrs = {"units": "degC", "standard_name": "air_temperature"}
        foreign["rh"].attrs = {"units": "%", "standard_name": "relative_humidity"}
        foreign.to_netcdf(path, engine="scipy", format="NETCDF3_CLASSIC")
        return {"own.nc": own, "classic.nc": path.read_bytes()}


def typical(form: str) -> bytes:
    """A made typical year, EPW or TMY3 or PVGIS, whole enough to be read."""
    hours = np.arange(np.datetime64("2021-01-01T00"), np.datetime64("2022-01-01T00"))
    rows = []
    for k, at in enumerate(hours):
        t = 10 - 11 * np.cos(2 * np.pi * k / 8760) - 4 * np.cos(2 * np.pi * k / 24)
        day, clock = str(at).split("T")
        y, m, d = day.split("-")
        if form == "epw":
            cells = [y, m, d, str(int(clock) + 1), "60", "?9", f"{t:.1f}", "99.9", "70"]
            cells += ["99000", "0", "0", "300", *["0"] * 8, "1.0", "5", "5", "9999"]
            cells += [
                "99999",
                "9",
                "999999999",
                "10",
                "0.1",
                "0",
                "88",
                "0.2",
                "9",
                "9",
            ]
            rows.append(",".join(cells))
        else:
            rows.append(f"{y}{m}{d}:{clock}00,{t:.1f},70,0.0,1.0")
    if form == "epw":
        head = ["LOCATION,Somewhere,-,-,made,0,45.0,8.0,1.0,100.0", "DESIGN CONDITIONS"]
        head += ["TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"]
        head += ["HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,", "COMMENTS 2,"]
        head += ["DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31"]
    else:
        head = ["Latitude (decimal degrees): 45.0", "Longitude (decimal degrees): 8.0"]
        head += ["", "month,year", "1,2010", "", "time(UTC),T2m,RH,G(h),WS10m"]
    return "\n".join([*head, *rows, ""]).encode()


def samples(kind: str) -> dict[str, bytes]:
    found = {}
    for path in sorted((ROOT / "data" / "samples").iterdir()):
        content = path.read_bytes()
        bare = unpack(content)
        if path.name.startswith("hourly_normals"):
            bare = content = bare[:6000]
        is_json = bare.lstrip()[:1] in (b"{", b"[")
        is_text = not is_json and path.suffix != ".zip" and path.name != "README.md"
        if (kind == "json" and is_json) or (kind == "text" and is_text):
            found[path.name] = bare
        elif kind == "bytes" and path.suffix in (".zip", ".gz"):
            found[path.name] = content
    return found
