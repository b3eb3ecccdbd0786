"""Column names in the wild, in several languages -> quantity and unit."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

#: Words (accents off, lower case) that name a quantity; the longest match wins.
WORDS: dict[str, str] = {
    "air_temperature": """
        lampotilan keskiarvo|ilman lampotila|temperatura powietrza|
        temperature|temperatura|temperatur|temp|tempf|tempc|tmp|t2m|2t|tas|tair|
        t air|ta|tdb|dry bulb|drybulb|dry bulb temperature|dry-bulb|dryt|t|
        lufttemperatur|lufttemp|temperature de l air|air temperature|airtemp|
        tg|tt tu|temperatuur|lampotila|teplota|homerseklet|sicaklik|
        температура|tavg|tmean|mean temperature|average temperature|
        temp out|outside temperature|outdoor temperature|温度|气温|気温|온도|
        thermo|out temp|celsius|fahrenheit|aussentemperatur|innentemperatur|
        temperature 2m|hitastig|temperatuur c|temperaturi|medeltemperatur|
        middeltemperatur|atlaghomerseklet|kozephomerseklet|keskilampotila|
        ohutemperatuur|θερμοκρασια|平均気温|平均气温|평균기온|suhu|
        suhu rata rata|nhiet do|tmed|tm""",
    "relative_humidity": """
        umi|suhteellisen kosteuden keskiarvo|ilman suhteellinen kosteus|
        relative humidity|relativehumidity|rel humidity|rel hum|relhum|relh|rh|
        humidity|humid|hum|hurs|rhum|r h|hr|ur|lf|rf|rel feuchte|feuchte|
        relative feuchte|relative luftfeuchtigkeit|relative luftfeuchte|
        luftfeuchtigkeit|luftfeuchte|rel luftfeuchte|rel luftfeuchtigkeit|
        feuchtigkeit|humidite|humidite relative|humedad|humedad relativa|umidita|
        umidita relativa|umidade|umidade relativa|humidade|humidade relativa|
        luchtvochtigheid|relatieve vochtigheid|vochtigheid|luftfuktighet|
        relativ luftfuktighet|fuktighet|luftfugtighed|fugtighed|kosteus|
        suhteellinen kosteus|ilmankosteus|wilgotnosc|wilgotnosc wzgledna|vlhkost|
        relativni vlhkost|paratartalom|relativ paratartalom|nem|bagil nem|
        влажность|относительная влажность|湿度|相对湿度|相対湿度|습도|rh2m|
        relative humidity 2m|relativehumidity 2m|moisture of air|vlaga|
        aussenfeuchte|innenfeuchte|aussenluftfeuchte|innenluftfeuchte|
        aussenluftfeuchtigkeit|innenluftfeuchtigkeit|
        outdoor humidity|outside humidity|out hum|u rel|υγρασια|σχετικη υγρασια|
        평균 상대습도|상대습도|
        平均湿度|平均相对湿度|relativna vlaznost|vlaznost|
        umiditate|umiditatea relativa|вологість|відносна вологість|ohuniiskus|
        suhteline ohuniiskus|dregme|santykine dregme|mitrums|relativais mitrums|
        kelembaban|kelembapan|kelembapan relatif|do am|u r|h r""",
    "dew_point": """
        pto orvalho|ponto orvalho|
        dew point|dewpoint|dewpt|dewp|dwpt|dwpf|dew|td|tdew|d2m|2d|tdps|
        taupunkt|taupunkttemperatur|point de rosee|temperature du point de rosee|
        punto de rocio|temperatura de rocio|punto di rugiada|rugiada|
        ponto de orvalho|dauwpunt|daggpunkt|dugpunkt|kastepiste|punkt rosy|
        rosny bod|harmatpont|точка росы|露点|露点温度|이슬점|dew point temperature|
        dew point temp|dewpoint 2m|dew point 2m|t2mdew|dewpoint temperature""",
    "wet_bulb": """
        wet bulb|wetbulb|wet bulb temperature|wet bulb temp|twb|tw|t wet|
        feuchttemperatur|feuchtkugeltemperatur|thermometre mouille|bulbo humedo|
        temperatura de bulbo humedo|bulbo umido|natteboltemperatuur|wet""",
    "vapour_pressure": """
        vapour pressure|vapor pressure|vap|vapr|actual vapour pressure|
        actual vapor pressure|ea|dampfdruck|pression de vapeur|presion de vapor|
        pressione di vapore|water vapour pressure|water vapor pressure""",
    "specific_humidity": "specific humidity|huss|qv2m|q2m|shum|sphum",
    "mixing_ratio": "mixing ratio|mixingratio|humidity ratio",
    "absolute_humidity": """
        absolute humidity|abs humidity|abs hum|absolute feuchte|
        humidite absolue|humedad absoluta|umidita assoluta|ah""",
    "pressure": """
        pressure|station pressure|surface pressure|barometric pressure|barometer|
        pres|press|sp|ps|luftdruck|druck|pression|presion|pressione|slp|mslp|
        sea level pressure|air pressure|baro""",
    "precipitation": """
        precipitation|precip|prcp|rain|rainfall|rain rate|tp|pr|prec|niederschlag|
        regen|pluie|precipitations|lluvia|precipitacion|pioggia|precipitazione|
        chuva|precipitacao|neerslag|nederbord|nedbor|sade|sademaara|opad|srazky|
        csapadek|yagis|осадки|降水量|降水|강수량|rain mm|hourly rain|p01i|p01m|
        prectotcorr|rainfall amount|liquid precipitation""",
    "wind_speed": """
        wind speed|windspeed|wind spd|wind|wspd|ws|ws10m|ws2m|wind speed 10m|
        windspeed 10m|sknt|windgeschwindigkeit|vitesse du vent|vent|
        velocidad del viento|viento|velocita del vento|vento|
        velocidade do vento|windsnelheid|vindhastighet|vindhastighed|tuuli|
        tuulen nopeus|predkosc wiatru|rychlost vetru|szelsebesseg|ruzgar|
        скорость ветра|风速|風速|풍속|sfcwind|wind ms|average wind speed""",
    "shortwave": """
        ghi|global radiation|globalstrahlung|solar radiation|shortwave|
        shortwave radiation|solar|ssrd|rsds|global horizontal irradiance|
        global horizontal|irradiance|sun|rayonnement global|radiacion global|
        radiazione globale|radiacao global|rg|g h|zonnestraling|
        allsky sfc sw dwn|strahlung|radiation|日射量""",
    "daily_maximum": """
        tmax|temp max|max temp|maximum temperature|temperature max|
        max temperature|tasmax|temperature 2m max|t max|hochsttemperatur|
        high|tx|t2m max|temperature high""",
    "daily_minimum": """
        tmin|temp min|min temp|minimum temperature|temperature min|
        min temperature|tasmin|temperature 2m min|t min|tiefsttemperatur|
        low|tn|t2m min|temperature low""",
    "datetime": """
        time|datetime|date time|timestamp|date and time|valid|valid time|time stamp|
        date/time|datum zeit|datum uhrzeit|datum/zeit|datum/uhrzeit|zeitstempel|
        zeitpunkt|date heure|date et heure|horodatage|fecha hora|fecha y hora|
        fecha/hora|data ora|data e ora|data/ora|data hora|tijdstip|datum tijd|
        tidpunkt|aikaleima|tid|time hour|mess datum|messzeit|yyyymmddhh|
        yyyymmddhhmm|дата и время|时间|日時|일시|time utc|epoch|unix time|unixtime|
        time local|local time|recorded|observation time|measured at|created at|czas|
        datum a cas|idopont|tarih saat|periodo""",
    "date": """
        date|day date|datum|fecha|data|dato|paivamaara|paiva|дата|日付|日期|날짜|
        tarih|pvm|yyyymmdd""",
    "clock": """
        clock|time of day|uhrzeit|zeit|heure|hora|ora|tijd|klokkeslett|klockslag|
        kello|kellonaika|aika|godzina|cas|ido|saat|время|時刻|시간|hh mm|hhmm""",
    "year": "year|yr|jahr|annee|ano|anno|jaar|ar|vuosi|rok|ev|yil|год|年|yyyy",
    "month": """
        month|mo|mon|monat|mois|mes|mese|maand|manad|maned|kuukausi|miesiac|mesic|
        honap|ay|месяц|月|mm|μηνας|월|mjesec|mesec|mesiac|luna|місяць|menuo|menesis|
        bulan|thang|kuu""",
    "day": """
        day|dy|tag|jour|dia|giorno|dag|kuu paiva|dzien|den|nap|gun|день|日|dd|
        day of month""",
    "day_of_year": "doy|day of year|yday|julian day",
    "hour": "hour|hr of day|stunde|hours|hh|std|hour of day|час",
    "site": "station|station id|station name|site|site id|origin|location|place|city",
    "latitude": "latitude|lat|breite|latitude y|latitud|latitudine",
    "longitude": "longitude|lon|lng|long|lange|longitude x|longitud|longitudine",
    "elevation": "elevation|altitude|elev|hohe|station height|altitud|quota",
    "minute": "minute|minutes|min|mi|minuten",
}


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


#: Words that make a column something else than the air outdoors.
NOT_AIR = _words(
    """
    min max minimum maximum feels feel felt wind chill windchill heat index apparent
    soil ground surface sea water skin gust direction dir source uncert flag quality
    setpoint set target alarm battery body humidex std stdev deviation count anomaly
    code qn vpd deficit cloud snow depth visibility gefuhlt boden ressentie sol suelo
    suolo bodem height id no number nr offset pwat
    """
)
INDOOR = _words(
    "indoor indoors inside innen interieur interior interno binnen room inne "
    "innentemperatur innenfeuchte innenluftfeuchte innenluftfeuchtigkeit"
)
OUTDOOR = _words(
    "outdoor outdoors outside out aussen draussen exterieur exterior esterno buiten "
    "ute ambient aussentemperatur aussenfeuchte aussenluftfeuchte "
    "aussenluftfeuchtigkeit"
)

_UNIT_SIGNS = (
    ("F", "degf|deg f|°f|ºf|˚f|℉|fahrenheit"),
    *(("C", "degc|deg c|°c|ºc|˚c|℃|celsius|centigrade|grad c"), ("K", "kelvin")),
    *(("fraction", "fraction|0-1"), ("percent", "percent|%|pct")),
    *(("g/m3", "g/m3|g/m³|g/m^3|g m-3"), ("g/kg", "g/kg"), ("kg/kg", "kg/kg")),
    *(("inHg", "inhg|in hg"), ("mmHg", "mmhg"), ("hPa", "hpa|mbar|mb|millibar")),
    *(("kPa", "kpa"), ("km/h", "km/h|kmh|kph|km h-1"), ("mph", "mph|mi/h")),
    *(("kn", "knots|knot|kts|kt|kn"), ("m/s", "m/s|m s-1|ms-1|mps|ms")),
    *(("W/m2", "w/m2|w/m²|w/m^2|wm2|w m-2|wm-2|wh/m2"), ("MJ/m2", "mj/m2")),
    *(("kJ/m2", "kj/m2"), ("J/cm2", "j/cm2"), ("in", "inches|inch")),
    *(("mm", "mm|l/m2"), ("cm", "cm"), ("Pa", "pa"), ("in", "in"), ("C", "c")),
    *(("F", "f"), ("K", "k")),
)
"""Units and the signs that stand for them, those that hold others first."""
UNITS: tuple[tuple[str, str], ...] = tuple(
    (sign, unit) for unit, signs in _UNIT_SIGNS for sign in signs.split("|")
)


_SUITS = {
    "temperature": {"C", "F", "K"},
    "relative_humidity": {"percent", "fraction", "g/m3", "g/kg", "kg/kg"},
    "vapour_pressure": {"Pa", "hPa", "kPa", "mmHg", "inHg"},
    "pressure": {"Pa", "hPa", "kPa", "mmHg", "inHg"},
    "specific_humidity": {"g/kg", "kg/kg"},
    "mixing_ratio": {"g/kg", "kg/kg"},
    "absolute_humidity": {"g/m3"},
    "precipitation": {"mm", "in", "cm"},
    "wind_speed": {"m/s", "km/h", "mph", "kn"},
    "shortwave": {"W/m2", "MJ/m2", "kJ/m2", "J/cm2"},
}
TEMPERATURES = (
    "air_temperature",
    "dew_point",
    "wet_bulb",
    "daily_maximum",
    "daily_minimum",
)
PLACE = ("site", "latitude", "longitude", "elevation")
TIMES = (
    *("datetime", "date", "clock", "year", "month", "day", "day_of_year"),
    *("hour", "minute"),
)


@dataclass(frozen=True)
class Column:
    """What a column name says.

    `name` as printed; `quantity` and `unit` None when the name says none; `where`:
    "indoor", "outdoor" or "" for where the sensor is.
    """

    name: str
    quantity: str | None
    unit: str | None
    where: str


def plain(text: str) -> str:
    """Return a name in lower case, without accents, signs turned to spaces.

    Examples
    --------
    >>> plain("Humidité_relative (%)")
    'humidite relative'
    """
    low = text.lower().replace("ß", "ss").replace("ł", "l").replace("ø", "o")
    low = low.replace("ı", "i").replace("æ", "ae").replace("đ", "d")
    parts = unicodedata.normalize("NFKD", low)
    bare = "".join(char for char in parts if not unicodedata.combining(char))
    # Cyrillic and Asian scripts are composed again so that the word list matches.
    return " ".join(re.sub(r"[\W_]+", " ", unicodedata.normalize("NFC", bare)).split())


_LOOKUP = {
    plain(word): quantity
    for quantity, words in WORDS.items()
    for word in words.split("|")
}

LONGEST_NAME = 200
"""Letters of a column's name; what is longer is prose."""
_MOST_WORDS = max(len(word.split()) for word in _LOOKUP)


def _unit_in(text: str, allowed: set[str] | None) -> str | None:
    low = unicodedata.normalize("NFC", text.lower().replace("µ", "u"))
    for sign, unit in UNITS:
        if allowed is not None and unit not in allowed:
            continue
        edge = r"(?<![a-z])" if sign[0].isalpha() else ""
        tail = r"(?![a-z0-9])" if sign[-1].isalnum() else ""
        if re.search(edge + re.escape(sign) + tail, low):
            return unit
    return None


def allowed_units(quantity: str) -> set[str] | None:
    """Return the units a quantity may have, or None when any will do."""
    return _SUITS.get("temperature" if quantity in TEMPERATURES else quantity)


@lru_cache(maxsize=4096)
def read_header(name: str, unit_cell: str = "") -> Column:
    """Say what a column holds from its name.

    Examples
    --------
    >>> read_header("Temperatur [°C]").quantity, read_header("temp_f").unit
    ('air_temperature', 'F')
    >>> read_header("rel. Feuchte (%)").quantity, read_header("Wind direction").quantity
    ('relative_humidity', None)
    """
    if len(name) > LONGEST_NAME:
        return Column(name[:LONGEST_NAME].strip(), None, None, "")
    words = plain(name).split()
    where = "indoor" if INDOOR & set(words) else ""
    where = "outdoor" if OUTDOOR & set(words) else where
    quantity = _match(name)
    unit = None
    if quantity is not None and quantity not in (*TIMES, *PLACE):
        allowed = allowed_units(quantity)
        unit = _unit_in(unit_cell, allowed) if unit_cell.strip() else None
        if unit is None:
            unit = _unit_in(_unit_part(name), allowed)
        if quantity == "relative_humidity" and unit in ("g/m3", "g/kg", "kg/kg"):
            quantity = "absolute_humidity" if unit == "g/m3" else "mixing_ratio"
    return Column(name=name.strip(), quantity=quantity, unit=unit, where=where)


def _unit_part(name: str) -> str:
    """Return the part of a name where a unit stands, words kept out of it."""
    inside = re.findall(r"[\(\[\{<]([^\)\]\}>]*)", name)
    rest = re.sub(r"[\(\[\{<][^\)\]\}>]*[\)\]\}>]?", " ", name)
    tail = re.split(r"[\s_,/;:]+", rest.strip())
    # "temp_c", "Temp °F", "wind_km/h": the last word, and every sign that is not one.
    ends = tail[-1:] if len(tail) > 1 else []
    camel = re.findall(r"(?<=[a-z])[CF]$", rest.strip())
    signs = re.findall(r"[°º˚℃℉%]\s*[A-Za-z]*", rest)
    words = re.findall(
        r"(?i)celsius|fahrenheit|kelvin|percent|pct|hpa|kpa|mbar|mph|km/?h|knots|"
        r"w/?m\^?[2²]|mm|m/s|deg ?[cf]\b|inhg|inches|fraction|g/m\^?[3³]|g/kg",
        rest,
    )
    joined = re.findall(r"(?i)^(?:temp|t)([cf])$", rest.strip())
    return " ".join([*inside, *ends, *camel, *joined, *signs, *words])


def _match(name: str) -> str | None:
    bare = plain(re.sub(r"[\(\[\{<][^\)\]\}>]*[\)\]\}>]?", " ", name))
    full = plain(name)
    # Channels of a logger: T1, RH2, Temp 1.
    bare = re.sub(r"\b(t|temp|temperature|rh|hum|humidity)(?: ?[1-9])\b", r"\1", bare)
    for text in (full, bare):
        if text in _LOOKUP:
            return _LOOKUP[text]
    words = [
        word for word in bare.split() if word in _LOOKUP or word not in INDOOR | OUTDOOR
    ]
    count, most = len(words), _MOST_WORDS
    candidates = [" ".join(words[:n]) for n in range(min(count, most), 0, -1)]
    candidates += [" ".join(words[n:]) for n in range(max(1, count - most), count)]
    candidates += [
        " ".join(words[a:b])
        for a in range(1, count)
        for b in range(min(count - 1, a + most), a, -1)
    ]
    found = [text for text in candidates if text in _LOOKUP]
    if not found:
        return None
    best = max(found, key=lambda text: (len(text.split()), len(text)))
    quantity = _LOOKUP[best]
    if quantity in ("hour", "minute", "day", "month", "year", "date") and (
        len(words) > 2 and best not in (words[0], words[-1])
    ):
        return None
    rest = set(words) - set(best.split())
    if quantity not in TIMES and rest & NOT_AIR:
        return None
    if len(best) <= 2 and len(words) > 2:
        return None
    return quantity
