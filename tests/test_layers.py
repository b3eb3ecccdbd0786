"""No import circle, between modules or between the folders of a layer.

`grimp` builds the graph of imports, those for type checking included; the standard
library sorts it.
"""

from collections import defaultdict
from graphlib import CycleError, TopologicalSorter

import grimp
import pytest

LAYERS = ("physics", "weather", "storage", "wood", "ensemble", "forecast", "yard",
          "report", "charts", "answers", "pages", "cli")  # fmt: skip


@pytest.fixture(scope="module")
def graph() -> grimp.ImportGraph:
    return grimp.build_graph("emcforecast")


def test_no_module_imports_itself_by_a_round(graph: grimp.ImportGraph) -> None:
    edges = {
        module: graph.find_modules_directly_imported_by(module)
        for module in graph.modules
        if module != "emcforecast"
    }
    assert len(edges) > 100
    try:
        TopologicalSorter(edges).prepare()
    except CycleError as error:
        pytest.fail(f"a circle of imports: {error.args[1]}")


@pytest.mark.parametrize("layer", LAYERS)
def test_folders_of_a_layer_stand_in_an_order(
    graph: grimp.ImportGraph, layer: str
) -> None:
    """A folder counts as one: nothing below imports what imports it."""
    top = f"emcforecast.{layer}."

    def part(module: str) -> str:
        return module.removeprefix(top).split(".")[0]

    edges: dict[str, set[str]] = defaultdict(set)
    for module in graph.modules:
        if module.startswith(top):
            for other in graph.find_modules_directly_imported_by(module):
                if other.startswith(top) and part(other) != part(module):
                    edges[part(module)].add(part(other))
    assert edges
    try:
        TopologicalSorter(edges).prepare()
    except CycleError as error:
        pytest.fail(f"a circle inside {layer}: {error.args[1]}")
