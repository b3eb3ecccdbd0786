"""Everything a page says of one place: each board's floor, dates, plan and movement."""

from collections.abc import Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from emcforecast._types import Progress
from emcforecast.answers.answered import Answered
from emcforecast.answers.dry import dry_answer
from emcforecast.answers.floor import floor_answer
from emcforecast.answers.hindcast import hindcast_answer
from emcforecast.answers.movement import movement_answer
from emcforecast.answers.plan import plan_answer
from emcforecast.errors import InputError
from emcforecast.forecast.dry_result import Dry
from emcforecast.forecast.floor import chosen_settings
from emcforecast.forecast.floor_result import Floor
from emcforecast.forecast.hindcast_scores import Hindcast
from emcforecast.forecast.plan.result import Plan
from emcforecast.forecast.targets import Target, target_for_use_or_general
from emcforecast.language import _
from emcforecast.report.answer import Answer
from emcforecast.report.document import plain
from emcforecast.report.floor_sentences import use_words
from emcforecast.storage.settings import Setting
from emcforecast.units import MM_PER_INCH, UnitSystem
from emcforecast.wood.board_moves import BoardMoves
from emcforecast.wood.species import Found

if TYPE_CHECKING:
    import xarray as xr

    from emcforecast.ensemble.air import StorageAir

A_YEAR = timedelta(days=365)
MOST_BOARDS = 12
"""So many boards a page holds at most: each takes seconds and a switch."""
USES = (
    *("furniture", "cabinets", "flooring", "trim", "interior-joinery", "turning"),
    *("exterior-joinery", "exterior-furniture", "siding", "decking", "boat"),
    *("timber-frame", "firewood"),
)
"""Uses that a page tells of; `plan --use` knows more."""
MOVING_WIDTH_MM: dict[UnitSystem, float] = {"si": 300.0, "us": 12 * MM_PER_INCH}
"""Width of the board whose movement is told, as `movement` takes it unasked, mm."""


@dataclass(frozen=True)
class Asked:
    """What is asked of a place, beside its weather.

    Parameters
    ----------
    boards : sequence of (Found, str)
        Each wood with its thickness.
    settings : sequence of Setting
        Places in place of those assumed.
    stacked : date
        When the boards are stacked.
    use : Target
        What they must be fit for.
    need : date, optional
        When they must be ready; a year after they are stacked where nobody says.
    dry_to : float
        The moisture whose date is told, % of oven-dry mass.
    system : {"us", "si"}
        Units of the words; a page says both.
    region : str, optional
        Where the work will live.
    hindcast : bool
        Whether to score such forecasts on the weather itself; it takes a while.
    """

    boards: Sequence[tuple[Found, str | float]]
    settings: Sequence[Setting]
    stacked: date
    use: Target
    need: date | None = None
    dry_to: float = 15.0
    system: UnitSystem = "si"
    region: str | None = None
    hindcast: bool = False

    @property
    def needed(self) -> date:
        """When the boards must be ready."""
        return self.need or self.stacked + A_YEAR

    def inputs(self) -> dict[str, Any]:
        """Return what is asked as the document for programs says it."""
        return {
            "species": list(
                dict.fromkeys(wood.species.name for wood, _ in self.boards)
            ),
            "thickness": list(dict.fromkeys(thickness for _, thickness in self.boards)),
            "settings": [place.text() for place in self.settings],
            "stacked": self.stacked,
            "need": self.needed,
            "use": self.use.label,
            "target": self.dry_to,
        }


@dataclass(frozen=True)
class BoardAnswers:
    """What is said of one board.

    Parameters
    ----------
    wood : Found
    use : Target
        What it must be fit for.
    floor, dry, plan : Answered
    movement : Answered or None
        Between the driest and the dampest month of the last place of `floor`; None
        where no shrinkage is published.
    moves_in : str
        The place of `movement`, as `floor` names it.
    uses : tuple of (Target, dict)
        For each use in words, place by place, whether and when wood gets there.
    """

    wood: Found
    use: Target
    floor: Answered[Floor]
    dry: Answered[Dry]
    plan: Answered[Plan]
    movement: Answered[BoardMoves] | None
    moves_in: str
    uses: tuple[tuple[Target, dict[str, str]], ...]


@dataclass(frozen=True)
class PlaceAnswers:
    """All of it, and the document it is for programs.

    Parameters
    ----------
    weather : Dataset
    asked : Asked
    boards : tuple of BoardAnswers
    hindcast : Answered or None
        None where it was not asked for.
    answer : Answer
        The JSON of all.
    """

    weather: "xr.Dataset"
    asked: Asked
    boards: tuple[BoardAnswers, ...]
    hindcast: Answered[Hindcast] | None
    answer: Answer


def place_answers(
    weather: "xr.Dataset",
    asked: Asked,
    *,
    inputs: Mapping[str, Any] | None = None,
    progress: Progress | None = None,
) -> PlaceAnswers:
    """Answer all that a page says of a place.

    Parameters
    ----------
    weather : Dataset
        The weather series.
    asked : Asked
        Boards, places and dates.
    inputs : mapping
        What was asked beside that, such as the weather, as typed.
    progress : callable, optional
        Told how far the work is.

    Raises
    ------
    EmcforecastError
        When a question cannot be answered as asked.
    """
    many = len(asked.boards)
    if many > MOST_BOARDS:
        raise InputError(
            _(
                "{many} boards are asked for, at most {most} fit a page; "
                "name fewer woods or thicknesses",
                many=many,
                most=MOST_BOARDS,
            )
        )
    say = progress or (lambda fraction, what: None)
    parts = many + asked.hindcast
    boards: list[BoardAnswers] = []
    for k, (wood, thickness) in enumerate(asked.boards):
        known = boards[0].plan.found.air if boards else None
        share = _share(say, k, parts)
        boards.append(_board(weather, asked, wood, thickness, known, share))
    scored = None
    if asked.hindcast:
        wood, thickness = asked.boards[0]
        scored = hindcast_answer(
            weather, wood, thickness, progress=_share(say, many, parts)
        )
    says = [answered for board in boards for answered in _parts(board)]
    says += [scored] if scored else []
    say(1.0, _("the page"))
    return PlaceAnswers(
        weather,
        asked,
        tuple(boards),
        scored,
        Answer(
            "report",
            {**(inputs or {}), **asked.inputs()},
            {
                "boards": [_result(board) for board in boards],
                "hindcast": scored and plain(scored.answer.result),
            },
            "",
            weather=weather,
            warnings=_once(line for one in says for line in one.answer.warnings),
            cautions=_once(line for one in says for line in one.answer.cautions),
        ),
    )


def _once(lines: Any) -> list[str]:
    return list(dict.fromkeys(lines))


def _share(say: Progress, part: int, of: int) -> Progress:
    return lambda fraction, what: say((part + fraction) / of, what)


def _half(say: Progress, part: int) -> Progress:
    return lambda fraction, what: say((part + fraction) / 2.0, what)


def _board(
    weather: "xr.Dataset",
    asked: Asked,
    wood: Found,
    thickness: str | float,
    known_air: "StorageAir | None",
    say: Progress,
) -> BoardAnswers:
    system = asked.system
    dry_inputs = {"thickness": [thickness], "target": asked.dry_to}
    with ThreadPoolExecutor(1) as pool:
        # Each leaves the processors idle in part; together they take less time.
        lows = pool.submit(
            floor_answer,
            weather,
            wood,
            thickness,
            asked.settings,
            [asked.use],
            system=system,
            inputs={"species": wood.species.name, "thickness": thickness},
        )
        plan = plan_answer(
            weather,
            wood,
            thickness,
            stacked=asked.stacked,
            need=asked.needed,
            target=asked.use,
            have=_at_hand(asked.settings),
            region=asked.region,
            system=system,
            inputs={
                "thickness": thickness,
                "stacked": asked.stacked,
                "need": asked.needed,
            },
            known_air=known_air,
            progress=_half(say, 0),
        )
        floor = lows.result()
    begins = plan.found.air.places[
        [place.name for place in plan.found.air.places].index(
            plan.found.route[0].setting
        )
    ]
    dry = dry_answer(
        weather,
        wood,
        [thickness],
        asked.stacked,
        begins,
        asked.dry_to,
        system=system,
        inputs=dry_inputs | {"setting": begins.text()},
        known_air=plan.found.air,
        progress=_half(say, 1),
    )
    name = list(floor.found.settings)[-1]
    return BoardAnswers(
        wood,
        asked.use,
        floor,
        dry,
        plan,
        _movement(wood, floor.found, name, system),
        name,
        tuple(_uses(floor.found, asked.region)),
    )


def _at_hand(settings: Sequence[Setting]) -> list[Setting]:
    """Return one place of each name: the first given, else the assumed one."""
    found: dict[str, Setting] = {}
    for place in chosen_settings(settings).values():
        found.setdefault(place.name, place)
    return list(found.values())


def _movement(
    wood: Found, floor: Floor, name: str, system: UnitSystem
) -> Answered[BoardMoves] | None:
    """Say how a board moves with the seasons of a place, where that is published."""
    means = [round(month.mean, 1) for month in floor.settings[name].months]
    try:
        return movement_answer(
            wood, MOVING_WIDTH_MM[system], max(means), min(means), system=system
        )
    except InputError:  # No shrinkage is published for this wood.
        return None


def _uses(floor: Floor, region: str | None) -> Sequence[tuple[Target, dict[str, str]]]:
    found = []
    for use in USES:
        target = target_for_use_or_general(use, region)
        words = {name: use_words(floor, name, target) for name in floor.settings}
        found.append((target, words))
    return found


def _parts(board: BoardAnswers) -> list[Answered[Any]]:
    parts: list[Answered[Any]] = [board.floor, board.dry, board.plan]
    return parts if board.movement is None else [*parts, board.movement]


def _result(board: BoardAnswers) -> dict[str, Any]:
    moves = board.movement
    return {
        "floor": board.floor.answer.result,
        "uses": [
            {"use": target.label, "low": target.low, "high": target.high,
             "source": target.source, "places": words}
            for target, words in board.uses
        ],
        "dry": board.dry.answer.result,
        "plan": board.plan.answer.result,
        "movement": moves and {"setting": board.moves_in, **moves.answer.result},
    }  # fmt: skip
