"""Write the format-true archive samples: two invented January days, 48 hours.

Air at hour k after 2019-01-01T00 UTC: temperature 4 + 5 sin(2 pi (k - 9)/24) °C,
relative humidity 75 - 15 sin(2 pi (k - 9)/24) %, both rounded as the archive rounds.
The station is invented: Sample Field, 46.5 N 8.5 E, 512 m. Run it to write the files
anew; `tests/archives` holds every reader against the same two formulas.
"""

import gzip
import io
import json
import math
import zipfile
from datetime import datetime, timedelta
from pathlib import Path

HERE = Path(__file__).parents[2] / "data" / "samples"
START = datetime(2019, 1, 1)
HOURS = range(48)
LAT, LON, UP = 46.5, 8.5, 512.0


def temperature(k):
    return 4 + 5 * math.sin(2 * math.pi * (k - 9) / 24)


def humidity(k):
    return 75 - 15 * math.sin(2 * math.pi * (k - 9) / 24)


def dew_point(k):
    t = temperature(k)
    x = math.log(humidity(k) / 100) + 17.62 * t / (243.12 + t)
    return 243.12 * x / (17.62 - x)


def rain(k):
    """Millimetres that fell in the hour before hour k."""
    return 0.6 if k in (5, 30) else 0.0


def at(k, form):
    return (START + timedelta(hours=k)).strftime(form)


def tenths(value):
    return f"{round(value * 10):+05d}"


def open_meteo_json():
    hours = {
        "time": [at(k + 1, "%Y-%m-%dT%H:%M") for k in HOURS],
        "temperature_2m": [round(temperature(k), 1) for k in HOURS],
        "relative_humidity_2m": [round(humidity(k)) for k in HOURS],
        "dew_point_2m": [round(dew_point(k), 1) for k in HOURS],
        "precipitation": [rain(k) for k in HOURS],
        "wind_speed_10m": [2.0 for _ in HOURS],
    }
    hours["temperature_2m"][7] = hours["relative_humidity_2m"][7] = None
    hours["dew_point_2m"][7] = None
    units = ("iso8601", "°C", "%", "°C", "mm", "m/s")
    return {
        "latitude": LAT,
        "longitude": LON,
        "generationtime_ms": 0.5,
        "utc_offset_seconds": 3600,
        "timezone": "Europe/Zurich",
        "timezone_abbreviation": "CET",
        "elevation": UP,
        "hourly_units": dict(zip(hours, units, strict=True)),
        "hourly": hours,
    }


def open_meteo_ahead():
    """61 days past and 16 to come, asked for on 2019-01-01: damp from then on."""
    past, ahead = 61 * 24, 16 * 24
    begin = START - timedelta(hours=past)
    span = range(past + ahead)
    hours = {
        "time": [(begin + timedelta(hours=k)).strftime("%Y-%m-%dT%H:%M") for k in span],
        "temperature_2m": [round(temperature(k), 1) if k < past else 8.0 for k in span],
        "relative_humidity_2m": [round(humidity(k)) if k < past else 95 for k in span],
        "precipitation": [0.0 for _ in span],
        "wind_speed_10m": [2.0 for _ in span],
    }
    units = ("iso8601", "°C", "%", "mm", "m/s")
    return {
        "latitude": LAT,
        "longitude": LON,
        "generationtime_ms": 0.7,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": UP,
        "hourly_units": dict(zip(hours, units, strict=True)),
        "hourly": hours,
    }


def open_meteo_csv():
    rows = [
        "latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation",
        f"{LAT},{LON},{UP},0,GMT,GMT",
        "",
        "time,temperature_2m (°C),relative_humidity_2m (%),wind_speed_10m (km/h)",
    ]
    for k in HOURS:
        t = "NaN" if k == 7 else f"{temperature(k):.1f}"
        rows.append(f"{at(k, '%Y-%m-%dT%H:%M')},{t},{humidity(k):.0f},7.2")
    return "\n".join(rows) + "\n"


def power(keys, scale=1.0):
    names = ("T2M", "RH2M", "PRECTOTCORR", "WS2M")
    units = ("C", "%", "mm/day", "m/s")
    values = {name: {} for name in names}
    for k, key in keys:
        row = (temperature(k), humidity(k), 24 * rain(k + 1) * scale, 1.5)
        for name, value in zip(names, row, strict=True):
            values[name][key] = -999.0 if k == 7 else round(value, 2)
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [LON, LAT, UP]},
        "properties": {"parameter": values},
        "header": {"title": "POWER", "fill_value": -999.0, "time_standard": "UTC"},
        "parameters": {n: {"units": u} for n, u in zip(names, units, strict=True)},
    }


def power_csv():
    rows = [
        "-BEGIN HEADER-",
        "NASA/POWER Source Native Resolution Hourly Data ",
        "Dates (month/day/year): 01/01/2019 through 01/02/2019 in UTC",
        f"Location: Latitude  {LAT}   Longitude {LON} ",
        "Elevation from MERRA-2: Average for 0.5 x 0.625 degree lat/lon region = "
        f"{UP} meters",
        "The value for missing source data that cannot be computed or is outside of "
        "the sources availability range: -999 ",
        "Parameter(s): ",
        "T2M                   MERRA-2 Temperature at 2 Meters (C) ",
        "RH2M                  MERRA-2 Relative Humidity at 2 Meters (%) ",
        "ALLSKY_SFC_SW_DWN     CERES SYN1deg All Sky Surface Shortwave (MJ/hr) ",
        "-END HEADER-",
        "YEAR,MO,DY,HR,T2M,RH2M,ALLSKY_SFC_SW_DWN",
    ]
    for k in HOURS:
        t = "-999" if k == 7 else f"{temperature(k):.2f}"
        rows.append(f"{at(k, '%Y,%-m,%-d,%-H')},{t},{humidity(k):.2f},0.36")
    return "\r\n".join(rows) + "\r\n"


ELEMENTS = (
    *("temperature", "dew_point_temperature", "wind_speed", "precipitation"),
    "relative_humidity",
)
CODES = (
    *("Measurement_Code", "Quality_Code", "Report_Type", "Source_Code"),
    "Source_Station_ID",
)


def ghcnh(by_year):
    if by_year:
        about = [
            "STATION",
            "Station_name",
            "DATE",
            "LATITUDE",
            "LONGITUDE",
            "ELEVATION",
        ]
    else:
        about = ["Station_ID", "Station_name", "Year", "Month", "Day", "Hour", "Minute"]
        about += ["Latitude", "Longitude", "Elevation"]
    head = about + [
        name for e in ELEMENTS for name in (e, *(f"{e}_{code}" for code in CODES))
    ]
    rows = ["|".join(head)]
    for k in HOURS:
        form = "%Y-%m-%dT%H:%M:00" if by_year else "%Y|%m|%d|%H|%M"
        cells = [
            "XXI0000SAMP",
            "SAMPLE FIELD",
            at(k, form),
            str(LAT),
            str(LON),
            str(UP),
        ]
        values = (
            f"{temperature(k):.1f}",
            f"{dew_point(k):.1f}",
            "2.0",
            f"{rain(k):.1f}",
            f"{humidity(k):.0f}",
        )
        quality = {7: ("L", "f", "", "", "f"), 8: ("C", "U", "", "", "")}
        marks = quality.get(k, ("1", "1", "1", "1", ""))
        for n, (value, mark) in enumerate(zip(values, marks, strict=True)):
            code = "2-Trace" if n == 3 and k == 40 else ""
            cells += [value, code, mark, "FM15-METAR", "343", "999999-99999"]
        rows.append("|".join(cells))
    return "\n".join(rows) + "\n"


def global_hourly():
    head = (
        *("STATION", "DATE", "SOURCE", "LATITUDE", "LONGITUDE", "ELEVATION", "NAME"),
        *("REPORT_TYPE", "QUALITY_CONTROL", "WND", "TMP", "DEW", "AA1"),
    )
    rows = [",".join(f'"{name}"' for name in head)]
    for k in HOURS:
        t = f"{tenths(temperature(k))},{3 if k == 7 else 1}"
        wet = f"01,{round(rain(k) * 10):04d},9,1"
        row = ("99999999999", at(k, "%Y-%m-%dT%H:%M:00"), "4", LAT, LON, UP)
        row += ("SAMPLE FIELD, XX", "FM-15", "V020", "180,1,N,0020,1", t)
        row += (f"{tenths(dew_point(k))},1", wet)
        rows.append(",".join(f'"{cell}"' for cell in row))
    rows.append(rows[-1].replace("FM-15", "SOD  ").replace("+0", "+9"))
    return "\n".join(rows) + "\n"


def isd_fixed():
    rows = []
    for k in HOURS:
        mark = 3 if k == 7 else 1
        extra = f"ADDAA101{round(rain(k) * 10):04d}91REMSYN" if rain(k) else ""
        rows.append(
            f"{len(extra):04d}999999999992{at(k, '%Y%m%d%H%M')[1:]}4"
            f"{round(LAT * 1000):+06d}{round(LON * 1000):+07d}FM-15{round(UP):+05d}"
            f"99999V020180" + "1N00201" + "9999999" + "N" + "999999999"
            f"{tenths(temperature(k))}{mark}{tenths(dew_point(k))}1999999{extra}"
        )
    return "\n".join(rows) + "\n"


def isd_lite():
    rows = []
    for k in HOURS:
        t = -9999 if k == 7 else round(temperature(k) * 10)
        wet = -1 if k == 40 else round(rain(k) * 10)
        values = (t, round(dew_point(k) * 10), 10130, 180, 20, -9999, wet, -9999)
        rows.append(at(k, "%Y %m %d %H") + "".join(f"{v:6d}" for v in values))
    return "\n".join(rows) + "\n"


def lcd(american):
    head = (
        *("STATION", "DATE", "LATITUDE", "LONGITUDE", "ELEVATION", "NAME"),
        *("REPORT_TYPE", "SOURCE", "HourlyDewPointTemperature"),
        *("HourlyDryBulbTemperature", "HourlyPrecipitation"),
        *("HourlyRelativeHumidity", "HourlyWindSpeed"),
    )
    rows = [",".join(f'"{name}"' for name in head)]
    for k in HOURS:
        t, dew, wet, wind = temperature(k), dew_point(k), rain(k), 2.0
        if american:
            t, dew, wet, wind = 1.8 * t + 32, 1.8 * dew + 32, wet / 25.4, wind / 0.44704
        suffix = "s" if k == 7 else ""
        row = (
            "99999999999" if american else "XXW00099999",
            at(k + 1, "%Y-%m-%dT%H:%M:00"),
        )
        row += (LAT, LON, UP, "SAMPLE FIELD, XX", "FM-15", "7", f"{dew:.1f}")
        row += (f"{t:.1f}{suffix}", "T" if k == 40 else f"{wet:.3f}")
        row += (f"{humidity(k):.0f}", f"{wind:.2f}")
        rows.append(",".join(f'"{cell}"' for cell in row))
    rows.append(rows[-1].replace("FM-15", "SOD  "))
    return "\n".join(rows) + "\n"


def normals():
    head = "STATION,NAME,LATITUDE,LONGITUDE,ELEVATION,DATE,month,day,hour,"
    head += "HLY-TEMP-NORMAL,meas_flag_HLY-TEMP-NORMAL,HLY-DEWP-NORMAL"
    rows = [head]
    for k in range(8760):
        when = datetime(2001, 1, 1) + timedelta(hours=k)
        t = -9999.0 if k == 7 else 1.8 * temperature(k - 1) + 32
        row = f'XXW00099999,"SAMPLE FIELD, XX",{LAT},{LON},{UP},'
        row += when.strftime("%m-%dT%H:00:00,%m,%d,%H,")
        rows.append(f"{row}{t:.1f},,{1.8 * dew_point(k - 1) + 32:.1f}")
    return "\n".join(rows) + "\n"


def iem(comma):
    head = ("station", "valid", "lon", "lat", "elevation")
    head += ("tmpf", "dwpf", "relh", "p01i", "sknt")
    sep = "," if comma else "\t"
    rows = (
        []
        if comma
        else ["#DEBUG: Format Typ    -> tdf", "#DEBUG: Time Zone     -> UTC"]
    )
    rows.append(sep.join(head))
    for k in HOURS:
        t = "M" if k == 7 else f"{1.8 * temperature(k) + 32:.2f}"
        row = ("XALD", at(k, "%Y-%m-%d %H:%M"), LON, LAT, UP, t)
        row += (f"{1.8 * dew_point(k) + 32:.2f}", f"{humidity(k):.2f}")
        row += ("T" if k == 40 else f"{rain(k) / 25.4:.3f}", f"{2 * 3600 / 1852:.2f}")
        rows.append(sep.join(str(cell) for cell in row))
    return "\n".join(rows) + "\n"


def meteostat(headed):
    rows = ["year,month,day,hour,temp,temp_source,rhum,rhum_source,prcp,prcp_source,"
            "wspd,wspd_source"] if headed else []  # fmt: skip
    for k in HOURS:
        t = "" if k == 7 else f"{temperature(k):.1f}"
        if headed:
            cells = (
                t,
                "isd_lite",
                f"{humidity(k):.0f}",
                "isd_lite",
                rain(k),
                "isd_lite",
            )
            when = at(k, "%Y,%-m,%-d,%-H")
            rows.append(f"{when},{','.join(map(str, cells))},7.2,isd_lite")
        else:
            rows.append(
                f"{at(k, '%Y-%m-%d,%-H')},{t},{dew_point(k):.1f},{humidity(k):.0f},"
                f"{rain(k)},,180,7.2,,1013.0,,"
            )
    return "\n".join(rows) + "\n"


def meteostat_json():
    return {
        "meta": {"generated": "2019-02-01 00:00:00"},
        "data": [
            {
                "time": at(k, "%Y-%m-%d %H:%M:%S"),
                "temp": None if k == 7 else round(temperature(k), 1),
                "dwpt": round(dew_point(k), 1),
                "rhum": round(humidity(k)),
                "prcp": rain(k),
                "wspd": 7.2,
            }
            for k in HOURS
        ],
    }


def dwd():
    rows = ["STATIONS_ID;MESS_DATUM;QN_9;TT_TU;RF_TU;eor"]
    for k in HOURS:
        t = -999 if k == 7 else round(temperature(k), 1)
        rows.append(
            f"      99999;{at(k, '%Y%m%d%H')};    3;{t:6};{round(humidity(k), 1):6};eor"
        )
    place = "Stations_id;Stationshoehe;Geogr.Breite;Geogr.Laenge;von_datum;bis_datum;"
    place += (
        "Stationsname\r\n99999; 500.00; 46.4000; 7.4000;19500101;19991231;Erlengrund"
    )
    place += (
        f"\r\n99999; {UP:.2f}; {LAT:.4f}; {LON:.4f};20000101;        ;Erlengründ\r\n"
    )
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as file:
        for name, text in (
            ("Metadaten_Geographie_99999.txt", place),
            (
                "produkt_tu_stunde_20190101_20190102_99999.txt",
                "\r\n".join(rows) + "\r\n",
            ),
        ):
            file.writestr(
                zipfile.ZipInfo(name, (2019, 2, 1, 0, 0, 0)), text.encode("latin-1")
            )
    return box.getvalue()


def eccc(french):
    english = (
        *("Longitude (x)", "Latitude (y)", "Station Name", "Climate ID"),
        *("Date/Time (LST)", "Year", "Month", "Day", "Time (LST)", "Temp (°C)"),
        *("Temp Flag", "Dew Point Temp (°C)", "Dew Point Temp Flag", "Rel Hum (%)"),
        *("Rel Hum Flag", "Precip. Amount (mm)", "Precip. Amount Flag"),
        *("Wind Spd (km/h)", "Wind Spd Flag"),
    )
    other = (
        *("Longitude (x)", "Latitude (y)", "Nom de la Station", "ID climatologique"),
        *("Date/Heure (HNL)", "Année", "Mois", "Jour", "Heure (HNL)", "Temp (°C)"),
        *("Temp Indicateur", "Point de rosée (°C)", "Point de rosée Indicateur"),
        *("Hum. rel (%)", "Hum. rel. Indicateur", "Hauteur de précip. (mm)"),
        *("Hauteur de précip. Indicateur", "Vit. du vent (km/h)"),
        "Vit. du vent Indicateur",
    )
    rows = [",".join(f'"{name}"' for name in (other if french else english))]
    for k in HOURS:
        t, flag = (
            ("", "M") if k == 7 else (f"{temperature(k):.1f}", "E" if k == 9 else "")
        )
        row = (LON, LAT, "SAMPLE FIELD", "9999999", at(k + 1, "%Y-%m-%d %H:%M"))
        row += (
            *at(k + 1, "%Y %m %d %H:%M").split(),
            t,
            flag,
            f"{dew_point(k):.1f}",
            "",
        )
        row += (f"{humidity(k):.0f}", "", f"{rain(k):.1f}", "T" if k == 40 else "")
        row += ("7.2", "")
        rows.append(",".join(f'"{cell}"' for cell in row))
    return "\ufeff" + "\r\n".join(rows) + "\r\n"


def era5():
    rows = ["valid_time,u10,v10,d2m,t2m,tp,ssrd,latitude,longitude"]
    for k in HOURS:
        t = "" if k == 7 else f"{temperature(k) + 273.15:.3f}"
        rows.append(
            f"{at(k, '%Y-%m-%d %H:%M:%S')},1.2,1.6,{dew_point(k) + 273.15:.3f},{t},"
            f"{rain(k) / 1000:.6f},360000.0,{LAT},{LON}"
        )
    box = io.BytesIO()
    with zipfile.ZipFile(box, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr(
            zipfile.ZipInfo("reanalysis-era5-single-levels-timeseries.csv"),
            "\n".join(rows) + "\n",
        )
    return box.getvalue()


def files():
    """Content by file name."""
    hourly = [(k, at(k, "%Y%m%d%H")) for k in HOURS]
    days = [(k, f"201901{k + 1:02d}") for k in range(4)]
    months = [(k, f"2019{k + 1:02d}") for k in range(13)]
    names = [
        "JAN",
        "FEB",
        "MAR",
        "APR",
        "MAY",
        "JUN",
        "JUL",
        "AUG",
        "SEP",
        "OCT",
        "NOV",
        "DEC",
        "ANN",
    ]
    normal_year = [(k + 20, name) for k, name in enumerate(names)]
    return {
        "open_meteo.json": json.dumps(open_meteo_json(), ensure_ascii=False),
        "open_meteo.csv": open_meteo_csv(),
        "power_hourly.json": json.dumps(power(hourly)),
        "open_meteo_ahead.json.gz": gzip.compress(
            json.dumps(open_meteo_ahead(), ensure_ascii=False).encode(), mtime=0
        ),
        "power_hourly.csv": power_csv(),
        "power_daily.json": json.dumps(power([(k + 20, d) for k, d in days])),
        "power_monthly.json": json.dumps(power([(k + 20, m) for k, m in months])),
        "power_normals.json": json.dumps(power(normal_year)),
        "ghcnh_by_station.psv": ghcnh(by_year=False),
        "ghcnh_by_year.psv": ghcnh(by_year=True),
        "global_hourly.csv": global_hourly(),
        "isd_fixed.txt": isd_fixed(),
        "isd_lite.gz": gzip.compress(isd_lite().encode(), mtime=0),
        "lcd_first.csv": lcd(american=True),
        "lcd_second.csv": lcd(american=False),
        "hourly_normals.csv.gz": gzip.compress(normals().encode(), mtime=0),
        "iem_comma.csv": iem(comma=True),
        "iem_tabs.tsv": iem(comma=False),
        "meteostat.csv.gz": gzip.compress(meteostat(headed=True).encode(), mtime=0),
        "meteostat_old.csv.gz": gzip.compress(
            meteostat(headed=False).encode(), mtime=0
        ),
        "meteostat.json": json.dumps(meteostat_json()),
        "dwd_tu.zip": dwd(),
        "eccc_english.csv": eccc(french=False),
        "eccc_french.csv": eccc(french=True),
        "era5.zip": era5(),
    }


if __name__ == "__main__":
    for name, content in files().items():
        body = content.encode() if isinstance(content, str) else content
        (HERE / name).write_bytes(body)
