"""The yard today: every stack's moisture, what it reaches when, and what is next."""

from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from emcforecast._types import FloatArray, Progress
from emcforecast.ensemble.air import StorageAir, storage_air
from emcforecast.ensemble.percentiles import Range, quantiles
from emcforecast.errors import InputError, WeatherError
from emcforecast.forecast.dry_result import reached
from emcforecast.forecast.targets import (
    Target,
    target_for_use_or_general,
    target_of_number,
)
from emcforecast.language import _
from emcforecast.physics.kernels.compiled import processors
from emcforecast.storage.settings import Setting
from emcforecast.units import UnitSystem
from emcforecast.wood.risks.week import RiskWeek
from emcforecast.yard.actions import Action, Advice, Reason
from emcforecast.yard.advice import advise
from emcforecast.yard.log import read_log
from emcforecast.yard.model import Stack, Yard
from emcforecast.yard.outlook import (
    Outlook,
    look_ahead,
    moisture_path,
)
from emcforecast.yard.questioned import Judged, judge
from emcforecast.yard.reading_effect import ReadingEffect, apply_log
from emcforecast.yard.recent_years import recent_answer
from emcforecast.yard.result import StackState, YardState
from emcforecast.yard.risks_now import risks_this_week

if TYPE_CHECKING:
    import xarray as xr


MILESTONES = (30.0, 20.0)
"""Told of every stack beside its target, % MC."""


SEASONAL = ("regain",)
"""Risks that the advice itself answers: they are told, and ask for nothing more."""


def yard_weather(yard: Yard) -> "xr.Dataset":
    """Read the yard's weather.

    Raises
    ------
    WeatherError
        When it cannot be read, with the yard file's name.
    """
    from emcforecast.weather.read import read_weather

    source = yard.weather
    if source.archive is not None and source.place is not None:
        latitude, longitude = source.place
        return read_weather(f"{source.archive}:{latitude},{longitude}", **source.hints)
    name = source.file or "demo"
    path = name if name == "demo" else str(yard.path.parent / name)
    try:
        return read_weather(path, **source.hints)
    except WeatherError as error:
        raise WeatherError(f"{yard.path}: [weather] {error}") from error


def yard_state(
    yard: Yard,
    weather: "xr.Dataset",
    today: date,
    *,
    system: UnitSystem = "si",
    only: Sequence[str] = (),
    paths: bool = False,
    progress: Progress | None = None,
) -> YardState:
    """Say how every stack of a yard stands and what is next.

    Parameters
    ----------
    yard : Yard
    weather : Dataset
        A weather series, hourly or monthly; dim ``time``.
    today : date
        Historical years stand for the days after the weather ends.
    system : {"us", "si"}
        Units of the steps told of readings.
    only : sequence of str
        Stacks to look at; all when empty.
    paths : bool
        Also keep each stack's moisture by day.
    progress : callable, optional
        Called with the fraction done and what is being done.

    Returns
    -------
    YardState

    Raises
    ------
    InputError
        When the yard has no stacks, a use is unknown, or the weather is too short.
    """
    stacks = [yard.stack(name) for name in only] or list(yard.stacks)
    if not stacks:
        raise InputError(
            _(
                "{path}: has no stacks yet. `emcforecast yard add {path}` adds one.",
                path=yard.path,
            )
        )
    report = progress or (lambda fraction, what: None)
    log = read_log(yard.readings)
    judged = judge(yard, log, today, system)
    have = places_at_hand(yard)
    air, number = _storage_air(yard, weather, have, stacks, report)
    states = []
    # A stack on each core beats every stack on all of them.
    alone = replace(air, threads=1) if len(stacks) > 1 else air
    with ThreadPoolExecutor(min(processors(), len(stacks))) as pool:
        jobs = [
            pool.submit(_state, yard, stack, alone, number, today, have, judged, paths)
            for stack in stacks
        ]
        try:
            for count, (stack, job) in enumerate(zip(stacks, jobs, strict=True)):
                report(0.2 + 0.8 * count / len(stacks), f"stack {stack.name}")
                states.append(job.result())
        finally:
            # After a refusal, or when a person stops it, nothing more is begun.
            for job in jobs:
                job.cancel()
    states.sort(key=_urgency)
    return YardState(yard, today, tuple(states), judged, air, log.unread_columns)


def target_of(yard: Yard, stack: Stack) -> Target | None:
    """Return what moisture a stack is for, or None when nobody said."""
    if stack.target is not None:
        return target_of_number(stack.target)
    if stack.use is None:
        return None
    return target_for_use_or_general(stack.use, yard.region)


def places_at_hand(yard: Yard) -> tuple[str, ...]:
    """Return the settings a stack of the yard may be carried to."""
    if yard.have:
        return yard.have
    used = [stack.setting for stack in yard.stacks]
    used += [move.setting for stack in yard.stacks for move in stack.moves]
    return tuple(dict.fromkeys([*yard.described, *used, "indoor"]))


def _storage_air(
    yard: Yard,
    weather: "xr.Dataset",
    have: Iterable[str],
    stacks: Iterable[Stack],
    report: Progress,
) -> tuple[StorageAir, dict[str, int]]:
    """Work out the air of every place once; places alike share it."""
    names = list(have)
    for stack in stacks:
        names += [stack.setting, *(move.setting for move in stack.moves)]
    texts: dict[str, int] = {}
    places: list[Setting] = []
    number: dict[str, int] = {}
    for name in dict.fromkeys(names):
        place = yard.settings[name]
        text = f"{place.text()} {sorted(place.likely.items())}"
        if text not in texts:
            texts[text] = len(places)
            places.append(place)
        number[name] = texts[text]
    air = storage_air(
        weather, places, progress=lambda share, what: report(0.2 * share, what)
    )
    return air, number


def _state(
    yard: Yard,
    stack: Stack,
    air: StorageAir,
    number: Mapping[str, int],
    today: date,
    have: Sequence[str],
    judged: Judged,
    paths: bool = False,
) -> StackState:
    target = target_of(yard, stack)
    plain = look_ahead(stack, air, number, today, target)
    outlook, effect = apply_log(plain, judged.of(stack), target, number)
    advice = advise(outlook, target, number, have)
    risks = risks_this_week(outlook)
    setting = stack.setting_on(max(today, stack.stacked))
    marks = (*MILESTONES, *((target.high,) if target else ()))
    mean, shell, core = (
        _range(outlook, path[outlook.now])
        for path in (outlook.whole.mean, outlook.whole.shell, outlook.whole.core)
    )
    return StackState(
        stack=stack,
        setting=setting,
        storage=yard.settings[setting],
        target=target,
        mean=mean,
        shell=shell,
        core=core,
        reaches=tuple(
            reached(outlook.whole, mc) for mc in sorted(set(marks), reverse=True)
        ),
        advice=advice,
        effect=effect,
        risks=risks,
        recent=recent_answer(plain, target),
        path=moisture_path(outlook) if paths else None,
        actions=_all_actions(advice, effect, risks, today),
    )


def _all_actions(
    advice: Advice, effect: ReadingEffect, risks: Iterable[RiskWeek], today: date
) -> tuple[Action, ...]:
    """Put first what a reading asks for, then what spoils, then what comes by date.

    A row of the log that is not used hides nothing: it is last.
    """
    spoils = [
        Action("risk", today, Reason.RISK, risk=r)
        for r in risks
        if r.calls_for_action and r.risk not in SEASONAL
    ]
    dated = sorted(advice.actions, key=lambda a: a.day)
    return (*effect.actions, *spoils, *dated, *effect.questions)


_RANKS = ("weigh", "reading", "risk", "move", "bring-in", "late")


def _urgency(state: StackState) -> tuple[date, int, date, str]:
    kind = state.next.kind
    rank = _RANKS.index(kind) if kind in _RANKS else len(_RANKS)
    return state.next.day, rank, state.stack.need or date.max, state.stack.name


def _range(outlook: Outlook, values: FloatArray) -> Range:
    p10, p50, p90 = quantiles(values, outlook.weight)
    return Range(p10, p50, p90)
