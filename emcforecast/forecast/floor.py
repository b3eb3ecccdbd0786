"""The lowest moisture achievable in each setting, month by month."""

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

from emcforecast._types import FloatArray, Progress
from emcforecast.ensemble.air import local_offset
from emcforecast.ensemble.months import driest_month, month_calendar
from emcforecast.ensemble.percentiles import YearRange, over_years
from emcforecast.ensemble.place_spread import place_spread
from emcforecast.ensemble.run_boards import air_tables
from emcforecast.ensemble.simulate import moisture_of_dry_boards
from emcforecast.errors import InputError
from emcforecast.forecast.floor_result import Floor, Lowest, Month, SettingFloor, Span
from emcforecast.language import _
from emcforecast.physics.kernels.compiled import in_threads
from emcforecast.physics.pieces import in_pieces
from emcforecast.physics.sorption import equilibrium_moisture_content
from emcforecast.storage.air import air_in
from emcforecast.storage.drivers import drivers_of, fallbacks_of
from emcforecast.storage.setting_text import SettingsLike, as_settings
from emcforecast.storage.settings import Setting, default_setting
from emcforecast.weather.accept import WeatherLike, weather_series
from emcforecast.weather.mend.hours_from_means import hourly_from_monthly
from emcforecast.weather.mend.merge import without_forecast
from emcforecast.weather.series import origin_of
from emcforecast.weather.years import require_year
from emcforecast.wood.board import Board
from emcforecast.wood.species import Species

if TYPE_CHECKING:
    import xarray as xr

NAMES = ("outdoor", "shed", "indoor")
"""The settings of every report."""


def floor(
    weather: WeatherLike,
    species: str | Species = "European larch",
    thickness: float | str = "27 mm",
    settings: SettingsLike = (),
    *,
    progress: Progress | None = None,
) -> Floor:
    """Find the lowest moisture content a board reaches in each setting by month.

    Parameters
    ----------
    weather : Dataset or DataFrame
        Hourly or monthly weather, as `emcforecast.weather_series` takes it.
    species : str or Species
        A wood's name, or a wood of the person's own.
    thickness : float or str
        mm, or text such as "27 mm" or "4/4".
    settings : Setting, str, mapping or sequence
        Replacements, as `emcforecast.storage.settings.as_settings` takes them, for
        the default kinds of outdoor, shed and indoor; several of one are compared.
    progress : callable, optional
        Called with the fraction done (0 to 1) and what is being done.

    Returns
    -------
    Floor
        Monthly means and ranges over the years for each setting.

    Raises
    ------
    WeatherError
        When the series holds less than a whole year.
    SpeciesError, SettingError
        When a species, setting or parameter is unknown.

    Notes
    -----
    The running moisture content is that of an already dry board of this species and
    thickness that stays in the setting, from the diffusion model, spun up; it is
    never an average of EMC. Months are those of the place's own clock.

    Examples
    --------
    >>> from emcforecast import read_weather
    >>> answer = floor(read_weather("demo"), "European larch", 27)
    >>> indoor, shed = answer.settings["indoor"], answer.settings["shed"]
    >>> indoor.lowest.p50 < shed.lowest.p50
    True
    """
    weather = without_forecast(weather_series(weather))
    require_year(weather)
    hourly = (
        hourly_from_monthly(weather) if weather.attrs["step"] == "month" else weather
    )
    board = Board(species, thickness)
    chosen = chosen_settings(as_settings(settings))
    report = progress or (lambda fraction, what: None)
    report(0.0, "places")
    drivers = drivers_of(hourly)
    places = list(chosen.values())
    airs = in_threads(lambda place: air_in(hourly, place, drivers=drivers), places)
    stated = air_tables(airs)
    report(0.4, "boards")
    with ThreadPoolExecutor(1) as pool:
        spreading = pool.submit(place_spread, hourly, drivers, board, places, stated)
        running = moisture_of_dry_boards(stated, board, range(len(places)))
        spread = spreading.result()
    report(0.9, "months")
    found = {
        name: _setting_floor(airs[k], name, place.kind, running[k], spread[k])
        for k, (name, place) in enumerate(chosen.items())
    }
    report(1.0, "done")
    return Floor(board, found, tuple(_whole_years(hourly)), origin_of(weather))


def chosen_settings(settings: Sequence[Setting]) -> dict[str, Setting]:
    """Return the places to compare: the given ones, in place of the defaults.

    Parameters
    ----------
    settings : sequence of Setting
        Any number; several of one of the three stand side by side.

    Returns
    -------
    dict of str to Setting
        Outdoor, shed and indoor in order. Several of one are named by their kinds, and
        of one kind by the whole of what was said.

    Raises
    ------
    InputError
        When the same place is given twice.

    Examples
    --------
    >>> from emcforecast.storage.setting_text import parse_setting
    >>> list(chosen_settings([parse_setting("shed"), parse_setting("shed=loft")]))
    ['outdoor', 'shed', 'loft', 'indoor']
    """
    chosen: dict[str, Setting] = {}
    for group in NAMES:
        mine = [one for one in settings if one.name == group]
        mine = mine or [default_setting(group)]
        kinds = [one.kind for one in mine]
        for one in mine:
            alone = len(mine) == 1 or one == default_setting(group)
            name = group if alone else one.kind
            if not alone and kinds.count(one.kind) > 1:
                name = one.text().partition("=")[2]
            if name in chosen:
                raise InputError(
                    _("setting '{one}' is given twice; give it once", one=one.text())
                )
            chosen[name] = one
    return chosen


def _setting_floor(
    air: "xr.Dataset", name: str, kind: str, running: FloatArray, spread: FloatArray
) -> SettingFloor:
    temperature = air["air_temperature"].to_numpy()
    humidity = air["relative_humidity"].to_numpy()
    emc = in_pieces(equilibrium_moisture_content, temperature, humidity)
    calendar = month_calendar(air["time"].to_numpy(), local_offset(air))
    least = calendar.lowest(running)
    means = [calendar.means(v) for v in (temperature, humidity, emc, running)]
    months = tuple(
        _month(
            month,
            tuple(float(mean[month - 1]) for mean in means),
            over_years(least[calendar.months_named(month)]),
            spread[:, month - 1],
        )
        for month in range(1, 13)
    )
    day_range = calendar.day_range(running)
    middle = over_years(calendar.lowest_of_years(running))
    return SettingFloor(
        name,
        kind,
        months,
        Lowest(
            driest_month(day_range),
            middle.p10,
            middle.p50,
            middle.p90,
            _span(middle.p50, spread[:, 12]),
            middle.least,
            middle.most,
        ),
        day_range,
        fallbacks_of(air),
        "precipitation" in air,
    )


def _month(
    month: int, means: tuple[float, ...], lowest: YearRange, spread: FloatArray
) -> Month:
    t, h, emc, running = means
    return Month(
        month,
        t,
        h,
        emc,
        float(equilibrium_moisture_content(t, h)),
        running,
        lowest,
        _span(lowest.p50, spread),
    )


def _span(middle: float, spread: FloatArray) -> Span:
    return Span(middle + float(spread[0]), middle + float(spread[1]))


def _whole_years(weather: "xr.Dataset") -> list[int]:
    from emcforecast.weather.years import years_of

    return [int(year) for year in years_of(weather)]
