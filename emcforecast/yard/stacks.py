"""One stack of the yard file, checked."""

from collections.abc import Mapping
from datetime import date
from itertools import pairwise

from emcforecast.errors import InputError, YardError
from emcforecast.forecast.targets import uses
from emcforecast.language import _
from emcforecast.storage.settings import Setting
from emcforecast.thickness import Thickness, parse_thickness
from emcforecast.units import UnitSystem, parse_length, parse_mass
from emcforecast.wood.species import Species, resolve_species
from emcforecast.yard import fields
from emcforecast.yard.fields import Table
from emcforecast.yard.model import Boards, Move, Sample, Stack
from emcforecast.yard.places import check_setting

STACK_KEYS = (
    "name",
    "species",
    "thickness",
    "sawn",
    "stacked",
    "setting",
    "use",
    "target",
    "need",
    "from_mc",
    "moved",
    "boards",
    "width",
    "sealed_ends",
    "length",
    "samples",
    "note",
)
MOST_MC = 300.0
_MOVE = 'moved = [{ date = 2025-08-24, setting = "loft" }]'
SIDES = {"width": "10 in", "length": "8 ft"}
_BOARDS = 'boards = { count = 40, length = "8 ft", width = "10 in" }'
_SAMPLES = 'samples = [{ board = "A", weight = "4.46 lb", mc = 62 }]'


def stack_from(
    table: Table,
    file: str,
    number: int,
    known: Mapping[str, Setting],
    added: Mapping[str, Species],
    system: UnitSystem,
) -> tuple[Stack, str]:
    """Check one [[stack]] table.

    Parameters
    ----------
    table : mapping
        Its keys and values.
    file : str
        The yard file, for messages.
    number : int
        Which stack of the file it is, from 1.
    known : mapping of str to Setting
        Settings the yard may name.
    added : mapping of str to Species
        Species the file describes.
    system : {"us", "si"}
        Units of bare lengths and weights.

    Returns
    -------
    stack : Stack
    note : str
        How a general species name was read, or "".

    Raises
    ------
    YardError
        At the first thing wrong.
    """
    name = fields.text(table, "name", f"{file}: stack {number}")
    if name is None:
        raise YardError(
            _(
                '{file}: stack {number} has no name. Add name = "oak-1", for one.',
                file=file,
                number=number,
            )
        )
    name = fields.label(name, f"{file}: stack {number}")
    where = f"{file}: stack '{name}'"
    fields.only(table, STACK_KEYS, where)
    wood = _needed(table, "species", 'species = "white oak"', where)
    setting = _needed(table, "setting", 'setting = "shed"', where)
    try:
        found = resolve_species(wood, added)
    except InputError as error:
        raise YardError(f"{where}: {error}") from error
    sawn = fields.day(table, "sawn", where)
    stacked = fields.day(table, "stacked", where) or sawn
    if stacked is None:
        raise YardError(
            _("{where} has no date. Add sawn = 2025-04-01 or stacked = …", where=where)
        )
    moves = _moves(table.get("moved", []), known, where)
    need = fields.day(table, "need", where)
    boards = _boards(table, system, where)
    width, length = (_side(table, key, boards, system, where) for key in SIDES)
    _in_order(sawn, stacked, moves, need, where)
    stack = Stack(
        name=name,
        species=found.species,
        wood=wood,
        thickness=_thickness(table, system, where),
        stacked=stacked,
        setting=check_setting(setting, known, where),
        sawn=sawn,
        use=fields.choice(table, "use", uses(), where),
        target=fields.number(table, "target", (2.0, 30.0), where, " % MC"),
        need=need,
        from_mc=fields.number(table, "from_mc", (2.0, MOST_MC), where, " % MC"),
        moves=moves,
        boards=boards,
        width_mm=width,
        length_mm=length,
        sealed_ends=fields.flag(table, "sealed_ends", where),
        samples=_samples(table.get("samples", []), system, where),
        note=fields.text(table, "note", where) or "",
    )
    try:
        _board = stack.board
    except InputError as error:
        raise YardError(f"{where}: {error}") from error
    return stack, found.note


def _needed(table: Table, key: str, example: str, where: str) -> str:
    value = fields.text(table, key, where)
    if value is None:
        raise YardError(
            _(
                "{where} has no {key}. Add {example}, for one.",
                where=where,
                key=key,
                example=example,
            )
        )
    return value


def _thickness(table: Table, system: UnitSystem, where: str) -> Thickness:
    value = table.get("thickness")
    if value is None:
        raise YardError(
            _(
                '{where} has no thickness. Add thickness = "8/4" or "54 mm".',
                where=where,
            )
        )
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise YardError(
            _(
                '{where}: thickness = {value!r} must be text such as "8/4".',
                where=where,
                value=value,
            )
        )
    if system == "us" and not isinstance(value, str):
        raise YardError(
            _(
                "{where}: thickness = {value:g} has no unit. Write "
                '"{value:g} in", "{value:g} mm" or quarters such as "8/4".',
                where=where,
                value=value,
            )
        )
    try:
        return parse_thickness(value)
    except InputError as error:
        raise YardError(f"{where}: {error}") from error


def _moves(given: object, known: Mapping[str, Setting], where: str) -> tuple[Move, ...]:
    moves = []
    for table in fields.tables_of(given, f"{where}: moved", _MOVE):
        here = f"{where}: moved"
        fields.only(table, ("date", "setting"), here)
        day = fields.day(table, "date", here)
        setting = fields.text(table, "setting", here)
        if day is None or setting is None:
            raise YardError(
                _("{here}: each move needs both. Write {move}", here=here, move=_MOVE)
            )
        moves.append(Move(check_setting(setting, known, here), day))
    return tuple(moves)


def _in_order(
    sawn: date | None,
    stacked: date,
    moves: tuple[Move, ...],
    need: date | None,
    where: str,
) -> None:
    if sawn is not None and stacked < sawn:
        raise YardError(
            _(
                "{where}: stacked {stacked} is before sawn {sawn}. Correct "
                "one of them.",
                where=where,
                stacked=stacked,
                sawn=sawn,
            )
        )
    days = [stacked, *(move.date for move in moves)]
    for earlier, later in pairwise(days):
        if later < earlier:
            raise YardError(
                _(
                    "{where}: moved {later} is before {earlier}. Put the moves "
                    "in order of date, all after it was stacked.",
                    where=where,
                    later=later,
                    earlier=earlier,
                )
            )
    if need is not None and need < stacked:
        raise YardError(
            _(
                "{where}: need {need} is before it was stacked, {stacked}. "
                "Correct one of them.",
                where=where,
                need=need,
                stacked=stacked,
            )
        )


def _boards(table: Table, system: UnitSystem, where: str) -> Boards | None:
    if "boards" not in table:
        return None
    where = f"{where}: boards"
    given = fields.table_of(table["boards"], where, _BOARDS)
    fields.only(given, ("count", "length", "width"), where)
    count = given.get("count")
    if isinstance(count, bool) or not isinstance(count, int) or count < 1:
        raise YardError(
            _(
                "{where}: count = {count!r} must be a whole number above 0.",
                where=where,
                count=count,
            )
        )
    return Boards(
        count,
        _length(given, "length", system, where),
        _length(given, "width", system, where),
    )


def _side(
    table: Table, key: str, boards: Boards | None, system: UnitSystem, where: str
) -> float | None:
    """Read the width or length of a board; else that of the boards counted."""
    if key in table:
        return _length(table, key, system, where, f'{key} = "{SIDES[key]}"')
    return None if boards is None else getattr(boards, f"{key}_mm")


def _length(
    table: Table, key: str, system: UnitSystem, where: str, example: str = _BOARDS
) -> float:
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise YardError(
            _(
                "{where}: {key} is missing or no length. Write {example}",
                where=where,
                key=key,
                example=example,
            )
        )
    try:
        return parse_length(value, system)
    except InputError as error:
        raise YardError(f"{where}: {error}") from error


def _samples(given: object, system: UnitSystem, where: str) -> tuple[Sample, ...]:
    samples: list[Sample] = []
    for table in fields.tables_of(given, f"{where}: samples", _SAMPLES):
        here = f"{where}: samples"
        fields.only(table, ("board", "weight", "mc", "dry_weight"), here)
        board = fields.label(_needed(table, "board", _SAMPLES, here), here)
        if any(sample.board == board for sample in samples):
            raise YardError(
                _(
                    "{here}: board '{board}' stands twice. Rename one.",
                    here=here,
                    board=board,
                )
            )
        dry = _mass(table, "dry_weight", system, here)
        weight = _mass(table, "weight", system, here)
        mc = fields.number(table, "mc", (0.0, MOST_MC), here, " % MC")
        if dry is None:
            if weight is None or mc is None:
                raise YardError(
                    _(
                        "{here}: board '{board}' needs its weight with the mc of its "
                        "end sections, or its dry_weight. Write {most}",
                        here=here,
                        board=board,
                        most=_SAMPLES,
                    )
                )
            dry = 100.0 * weight / (mc + 100.0)
        samples.append(Sample(board, dry))
    return tuple(samples)


def _mass(table: Table, key: str, system: UnitSystem, where: str) -> float | None:
    value = table.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        raise YardError(
            _(
                "{where}: {key} = {value!r} is no weight. Write {most}",
                where=where,
                key=key,
                value=value,
                most=_SAMPLES,
            )
        )
    try:
        return parse_mass(value, system)
    except InputError as error:
        raise YardError(f"{where}: {error}") from error
