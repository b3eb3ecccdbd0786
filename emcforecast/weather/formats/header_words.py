"""The words that name quantities and units: columns of tables, variables of NetCDF."""

from __future__ import annotations

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
        temperature 2m|hitastig|temperatuur c|temperaturi""",
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
        outdoor humidity|outside humidity|out hum|u rel""",
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
        honap|ay|месяц|月|mm""",
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

UNITS: tuple[tuple[str, str], ...] = (
    ("degf", "F"),
    ("deg f", "F"),
    ("°f", "F"),
    ("ºf", "F"),
    ("˚f", "F"),
    ("℉", "F"),
    ("fahrenheit", "F"),
    ("degc", "C"),
    ("deg c", "C"),
    ("°c", "C"),
    ("ºc", "C"),
    ("˚c", "C"),
    ("℃", "C"),
    ("celsius", "C"),
    ("centigrade", "C"),
    ("grad c", "C"),
    ("kelvin", "K"),
    ("fraction", "fraction"),
    ("0-1", "fraction"),
    ("percent", "percent"),
    ("%", "percent"),
    ("pct", "percent"),
    ("g/m3", "g/m3"),
    ("g/m³", "g/m3"),
    ("g/m^3", "g/m3"),
    ("g m-3", "g/m3"),
    ("g/kg", "g/kg"),
    ("kg/kg", "kg/kg"),
    ("inhg", "inHg"),
    ("in hg", "inHg"),
    ("mmhg", "mmHg"),
    ("hpa", "hPa"),
    ("mbar", "hPa"),
    ("mb", "hPa"),
    ("millibar", "hPa"),
    ("kpa", "kPa"),
    ("km/h", "km/h"),
    ("kmh", "km/h"),
    ("kph", "km/h"),
    ("km h-1", "km/h"),
    ("mph", "mph"),
    ("mi/h", "mph"),
    ("knots", "kn"),
    ("knot", "kn"),
    ("kts", "kn"),
    ("kt", "kn"),
    ("kn", "kn"),
    ("m/s", "m/s"),
    ("m s-1", "m/s"),
    ("ms-1", "m/s"),
    ("mps", "m/s"),
    ("ms", "m/s"),
    ("w/m2", "W/m2"),
    ("w/m²", "W/m2"),
    ("w/m^2", "W/m2"),
    ("wm2", "W/m2"),
    ("w m-2", "W/m2"),
    ("wm-2", "W/m2"),
    ("wh/m2", "W/m2"),
    ("mj/m2", "MJ/m2"),
    ("kj/m2", "kJ/m2"),
    ("j/cm2", "J/cm2"),
    ("inches", "in"),
    ("inch", "in"),
    ("mm", "mm"),
    ("l/m2", "mm"),
    ("cm", "cm"),
    ("pa", "Pa"),
    ("in", "in"),
    ("c", "C"),
    ("f", "F"),
    ("k", "K"),
)

#: Quantities of NetCDF variables, by GRIB parameter number, by CF standard name, by
#: short name and by label.
GRIB_PARAMETERS = {
    **{
        167: "air_temperature",
        168: "dew_point",
        134: "pressure",
        157: "relative_humidity",
    },
    **{228: "precipitation", 169: "shortwave", 133: "specific_humidity"},
    **{165: "eastward_wind", 166: "northward_wind", 207: "wind_speed"},
    **{201: "daily_maximum", 202: "daily_minimum"},
}
STANDARD_NAMES = {
    "air_temperature": "air_temperature",
    "surface_temperature_of_air": "air_temperature",
    "dew_point_temperature": "dew_point",
    "wet_bulb_temperature": "wet_bulb",
    "relative_humidity": "relative_humidity",
    "specific_humidity": "specific_humidity",
    "humidity_mixing_ratio": "mixing_ratio",
    "water_vapor_partial_pressure_in_air": "vapour_pressure",
    "surface_air_pressure": "pressure",
    "precipitation_amount": "precipitation",
    "precipitation_flux": "precipitation",
    "lwe_thickness_of_precipitation_amount": "precipitation",
    "lwe_precipitation_rate": "precipitation",
    "rainfall_flux": "precipitation",
    "wind_speed": "wind_speed",
    "eastward_wind": "eastward_wind",
    "northward_wind": "northward_wind",
    "surface_downwelling_shortwave_flux_in_air": "shortwave",
    "surface_downwelling_shortwave_flux": "shortwave",
}
_SHORT_NAMES = {
    "air_temperature": (
        "t2m 2t tas t2 tair temp tmp temperature air_temperature t_2m tavg tmean tg"
    ),
    "dew_point": "d2m 2d tdps dewpoint dew_point td dew_point_temperature t2mdew td_2m",
    "relative_humidity": "hurs rh rh2m r2 relative_humidity relhum rhum hu rh_2m",
    "specific_humidity": "huss q2m qv2m q2 shum sph specific_humidity qair",
    "vapour_pressure": "vap vapr vp ea vapour_pressure vapor_pressure",
    "pressure": "sp ps psfc surface_pressure pres pressure",
    "precipitation": "tp pr pre precip prcp precipitation prectotcorr rainf prec rr",
    "wind_speed": "si10 sfcwind ws10m wind_speed ws wind ws10 wspd",
    "eastward_wind": "u10 10u uas u10m",
    "northward_wind": "v10 10v vas v10m",
    "shortwave": "ssrd rsds swdown srad shortwave ghi swgdn",
    "daily_maximum": "tasmax tmx mx2t tmax tx",
    "daily_minimum": "tasmin tmn mn2t tmin tn",
}
VARIABLE_NAMES = {
    word: quantity for quantity, words in _SHORT_NAMES.items() for word in words.split()
}
LONG_NAMES = (
    (r"2 ?met(re|er) dew ?point", "dew_point"),
    (r"2 ?met(re|er) temperature|near.surface (air )?temperature", "air_temperature"),
    (r"relative humidity", "relative_humidity"),
    (r"specific humidity", "specific_humidity"),
    (r"vapou?r pressure", "vapour_pressure"),
)
