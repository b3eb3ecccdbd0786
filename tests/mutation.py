"""Change the core a little, many times over, and count the changes the suite notices.

Run by hand or from .ci/run's slow part; it works on a copy and leaves the tree alone::

    python tests/mutation.py --seed 1 --each 12          # so many changes a module
    python tests/mutation.py --named                     # the written list below alone

A change survives when the tests of its module still pass: then a check is missing, or
the change makes no difference. Numbers are made a fifth greater (0 and 1: one more),
plus and minus, times and divided by, less and greater, and and or, least and greatest
change places, a minus sign or a `not` is left out.
"""

import argparse
import ast
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]

TESTS: dict[str, tuple[str, ...]] = {
    "physics/sorption.py": (
        "tests/physics/test_sorption.py",
        "tests/published/test_emc_table.py",
        "tests/python/test_emc.py",
    ),
    "physics/moist_air.py": (
        "tests/physics/test_moist_air.py",
        "tests/published/test_water_vapour.py",
    ),
    "physics/diffusion.py": (
        "tests/physics/test_diffusion.py",
        "tests/published/test_plane_sheet.py",
        "tests/published/test_thick_stock.py",
    ),
    "physics/section.py": (
        "tests/physics/test_section.py",
        "tests/published/test_thick_stock.py",
    ),
    "physics/sky.py": ("tests/physics/test_sun_sky.py",),
    "physics/sun.py": (
        "tests/physics/test_sun_sky.py",
        "tests/published/test_sun.py",
        "tests/storage/test_air.py",
    ),
    "physics/ground.py": ("tests/physics", "tests/storage/test_air.py"),
    "physics/kernels/air_node.py": (
        "tests/physics/test_air_node.py",
        "tests/storage/test_air.py",
        "tests/published/test_closed_buildings.py",
    ),
    "physics/kernels/board_surface.py": (
        "tests/wood/test_kernel_reference.py",
        "tests/wood/test_kernel_laws.py",
        "tests/published/test_plane_sheet.py",
        "tests/published/test_outdoor_boards.py",
    ),
    "physics/kernels/board_diffusion.py": (
        "tests/wood/test_kernel_reference.py",
        "tests/wood/test_kernel_laws.py",
        "tests/published/test_plane_sheet.py",
    ),
    "physics/kernels/boards.py": (
        "tests/physics/test_boards.py",
        "tests/wood/test_kernel_reference.py",
        "tests/wood/test_kernel_laws.py",
        "tests/published/test_plane_sheet.py",
    ),
    "physics/boards.py": (
        "tests/physics/test_boards.py",
        "tests/wood/test_kernel_reference.py",
        "tests/wood/test_kernel_laws.py",
        "tests/published/test_plane_sheet.py",
        "tests/published/test_outdoor_boards.py",
    ),
    "wood/risks/checking.py": (
        "tests/published/test_safe_rates.py",
        "tests/wood/test_risk_defects.py",
    ),
    "wood/risks/defects.py": ("tests/wood/test_risk_defects.py",),
    "wood/risks/mould.py": ("tests/published/test_mould_index.py",),
    "wood/risks/mould_index.py": ("tests/published/test_mould_index.py",),
    "wood/risks/stain.py": (
        "tests/wood/test_risk.py",
        "tests/wood/test_risk_decay.py",
    ),
    "wood/risks/rewetting.py": ("tests/wood/test_risk.py",),
    "wood/movement.py": ("tests/published/test_movement.py",),
    "wood/weight.py": ("tests/wood/test_weight.py",),
    "wood/meter.py": (
        "tests/wood/test_meter.py",
        "tests/published/test_meter_rules.py",
    ),
    "ensemble/percentiles.py": (
        "tests/forecast/test_percentiles.py",
        "tests/forecast/test_traces.py",
        "tests/forecast/test_hindcast.py",
    ),
    "ensemble/evidence.py": (
        "tests/forecast/test_evidence.py",
        "tests/forecast/test_update.py",
    ),
    "ensemble/weights.py": (
        "tests/forecast/test_evidence.py",
        "tests/forecast/test_update.py",
    ),
    "forecast/floor.py": (
        "tests/forecast/test_floor_result.py",
        "tests/forecast/test_floor.py",
    ),
    "forecast/floor_result.py": (
        "tests/forecast/test_floor_result.py",
        "tests/forecast/test_floor.py",
        "tests/python/test_results.py",
    ),
    "forecast/hindcast_scores.py": (
        "tests/forecast/test_hindcast_scores.py",
        "tests/forecast/test_hindcast.py",
    ),
    "forecast/plan/success.py": (
        "tests/forecast/test_success.py",
        "tests/forecast/test_targets.py",
        "tests/forecast/test_plan.py",
    ),
    "weather/mend/hours_from_means.py": (
        "tests/weather/test_hours_from_means.py",
        "tests/weather/test_monthly.py",
    ),
    "storage/drivers.py": (
        "tests/storage/test_drivers.py",
        "tests/storage/test_air.py",
    ),
}
"""The core, and the tests of each module; its own examples are run besides."""

NAMED: tuple[tuple[str, str, str, str], ...] = (
    (
        "ensemble/months.py",
        "return month_of_day(int(np.argmin(smooth(day_range[1]))))",
        "return month_of_day(int(np.argmax(smooth(day_range[1]))))",
        "tests/forecast/test_floor.py",
    ),
    (
        "ensemble/months.py",
        "np.fmin.reduce(running[a:b]) for a, b in self.year_rows",
        "np.fmin.reduce(running[a:b]) for a, b in self.year_rows[:-1]",
        "tests/forecast/test_floor.py",
    ),
    (
        "forecast/hindcast.py",
        "others = runs.year != year",
        "others = runs.year == runs.year",
        "tests/forecast/test_hindcast.py",
    ),
    (
        "ensemble/update.py",
        "for k in used]",
        "for k in used[-1:]]",
        "tests/forecast/test_update.py",
    ),
    (
        "weather/formats/csv.py",
        'if hints.stamp == "end" and',
        'if hints.stamp == "never" and',
        "tests/weather/test_csv.py",
    ),
    (
        "wood/risks/mould_index.py",
        "m += k1 * k2 / (168.0 * weeks)",
        "m += 0.5 * k1 * k2 / (168.0 * weeks)",
        "tests/published/test_mould_index.py",
    ),
    (
        "wood/risks/stain.py",
        "STAIN_NEEDS_MC = 22.0",
        "STAIN_NEEDS_MC = 30.0",
        "tests/wood/test_risk.py",
    ),
    (
        "wood/risks/checking.py",
        "rate = np.exp(level + slope * np.log(basic_gravity))",
        "rate = 1.2 * np.exp(level + slope * np.log(basic_gravity))",
        "tests/published/test_safe_rates.py",
    ),
    (
        "wood/risks/checking.py",
        "scaled = scaled_rate(_rate_4_4(row), nominal)",
        'scaled = scaled_rate(_rate_4_4(row) * (1.2 if row["basis"] == "stand-in" '
        "else 1.0), nominal)",
        "tests/published/test_safe_rates.py",
    ),
    (
        "storage/drivers.py",
        "return float(latitude), float(longitude)",
        "return abs(float(latitude)), float(longitude)",
        "tests/storage/test_air.py",
    ),
    (
        "storage/drivers.py",
        "latitude = sun.usual_latitude(",
        "latitude = 45.0 + 0.0 * sun.usual_latitude(",
        "tests/storage/test_air.py",
    ),
    (
        "report/plan.py",
        "WARM_MONTHS[north]",
        "WARM_MONTHS[True]",
        "tests/forecast/test_plan.py",
    ),
    (
        "storage/kinds.py",
        '"roof_u": 2.0',
        '"roof_u": 1.0',
        "tests/published/test_closed_buildings.py",
    ),
)
"""Changes written by hand: file, text, other text, the test that must notice."""

ARITHMETIC = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
}
COMPARED = {ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.Gt, ast.GtE: ast.Lt}
EXTREMES = {
    **{"min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum"},
    **{"nanmin": "nanmax", "nanmax": "nanmin", "argmin": "argmax", "argmax": "argmin"},
}


def changes(tree: ast.Module) -> Iterator[tuple[ast.AST, str]]:
    """Yield every node of the running code that can be changed, and what is done."""
    skipped: set[int] = set()
    for node in ast.walk(tree):
        notes = [getattr(node, name, None) for name in ("annotation", "returns")]
        if isinstance(node, ast.Raise):
            notes.append(node)
        for note in filter(None, notes):
            skipped |= {id(inner) for inner in ast.walk(note)}
    for node in ast.walk(tree):
        what = "" if id(node) in skipped else _what(node)
        if what:
            yield node, what


def _what(node: ast.AST) -> str:
    """Say what can be changed of a node; "" where nothing can."""
    if isinstance(node, ast.Constant):
        number = isinstance(node.value, int | float)
        return "number" if number and not isinstance(node.value, bool) else ""
    if isinstance(node, ast.BinOp):
        return "arithmetic" if type(node.op) in ARITHMETIC else ""
    if isinstance(node, ast.Compare):
        return "comparison" if type(node.ops[0]) in COMPARED else ""
    if isinstance(node, ast.UnaryOp):
        return "sign" if isinstance(node.op, ast.USub | ast.Not) else ""
    if isinstance(node, ast.Attribute | ast.Name):
        name = node.attr if isinstance(node, ast.Attribute) else node.id
        return "extreme" if name in EXTREMES else ""
    return "and, or" if isinstance(node, ast.BoolOp) else ""


def change(node: ast.AST) -> None:
    """Change a node in place."""
    if isinstance(node, ast.Constant):
        whole, one = isinstance(node.value, int), node.value in (0, 1)
        fifth = max(1, round(0.2 * node.value)) if whole else 0.2 * node.value
        node.value += 1 if one else fifth
    elif isinstance(node, ast.BinOp):
        node.op = ARITHMETIC[type(node.op)]()
    elif isinstance(node, ast.Compare):
        node.ops[0] = COMPARED[type(node.ops[0])]()
    elif isinstance(node, ast.BoolOp):
        node.op = ast.Or() if isinstance(node.op, ast.And) else ast.And()
    elif isinstance(node, ast.UnaryOp):
        left_out = isinstance(node.op, ast.USub)
        node.op = ast.UAdd() if left_out else ast.Not()
        if not left_out:
            node.operand = ast.UnaryOp(ast.Not(), node.operand)
    elif isinstance(node, ast.Attribute):
        node.attr = EXTREMES[node.attr]
    elif isinstance(node, ast.Name):
        node.id = EXTREMES[node.id]


def changed(source: str, number: int) -> tuple[str, str]:
    """Return a module's text with its nth change made, and where and what that is."""
    tree = ast.parse(source)
    node, what = list(changes(tree))[number]
    line = getattr(node, "lineno", 0)
    before = ast.unparse(node)
    change(node)
    said = f"line {line}: {what}, {before} -> {ast.unparse(node)}"
    return ast.unparse(ast.fix_missing_locations(tree)) + "\n", said


def passes(copy: Path, tests: tuple[str, ...], limit: float) -> bool:
    """Whether the tests pass in the copy; what takes too long does not."""
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-n", "0", "-p"]
    command += ["no:cacheprovider", *tests]
    try:
        done = subprocess.run(
            command, cwd=copy, env={"PYTHONPATH": str(copy), "PATH": "/usr/bin:/bin"},
            capture_output=True, timeout=limit, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0


def named(copy: Path) -> tuple[int, int]:
    """Make every written change; return how many were noticed, and of how many."""
    caught = 0
    for file, text, other, test in NAMED:
        path = copy / "emcforecast" / file
        source = path.read_text(encoding="utf-8")
        if text not in source:
            raise SystemExit(f"{file} no longer holds: {text}")
        path.write_text(source.replace(text, other, 1), encoding="utf-8")
        alive = passes(copy, (test,), 600.0)
        path.write_text(source, encoding="utf-8")
        caught += not alive
        print(f"{'SURVIVED' if alive else 'noticed '}  {file}  {text}", flush=True)
    return caught, len(NAMED)


def drawn(copy: Path, file: str, each: int, seed: int) -> tuple[int, int]:
    """Make some changes of one module; return how many were noticed, and how many."""
    path = copy / "emcforecast" / file
    source = path.read_text(encoding="utf-8")
    tests = (*TESTS[file], f"emcforecast/{file}")
    begun = time.monotonic()
    if not passes(copy, tests, 900.0):
        raise SystemExit(f"the tests of {file} fail unchanged")
    limit = 60.0 + 4.0 * (time.monotonic() - begun)
    count = len(list(changes(ast.parse(source))))
    chosen = random.Random(f"{seed} {file}").sample(range(count), min(each, count))
    caught = 0
    for number in sorted(chosen):
        text, said = changed(source, number)
        path.write_text(text, encoding="utf-8")
        alive = passes(copy, tests, limit)
        caught += not alive
        if alive:
            print(f"SURVIVED  {file} {said}", flush=True)
    path.write_text(source, encoding="utf-8")
    print(
        f"{file}: {caught} of {len(chosen)} noticed, of {count} there are", flush=True
    )
    return caught, len(chosen)


def main() -> None:
    """Run what the command line asks for and print the score."""
    asked = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    asked.add_argument("--named", action="store_true", help="the written list alone")
    asked.add_argument("--each", type=int, default=10, help="changes a module")
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--only", default="", help="modules whose name holds this")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "copy"
        left = shutil.ignore_patterns(".git", "__pycache__", ".*_cache", ".venv")
        shutil.copytree(ROOT, copy, ignore=left)
        scores = []
        if given.named:
            scores.append(named(copy))
        else:
            files = [file for file in TESTS if given.only in file]
            scores += [drawn(copy, file, given.each, given.seed) for file in files]
    caught, made = (sum(column) for column in zip(*scores, strict=True))
    print(f"{caught} of {made} changes noticed, {100.0 * caught / made:.0f} %")


if __name__ == "__main__":
    main()
