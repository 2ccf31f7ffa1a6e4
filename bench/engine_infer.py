"""The structure of a large tree, found from its bare marks and compared with the truth.

    python -m bench.engine_infer AREAS GROUPS DOORS FORMAT

prints one JSON object: doors, keys, seconds and processor seconds from the chart to its tree, and
how many keys were hung under the wrong key. Making the chart is not counted.
"""

import json
import sys
from collections.abc import Sequence
from time import perf_counter, process_time

from bench.charts import TOP, Name, Sketch, uniform
from pinloom.core.chart import AccessChart
from pinloom.core.hardware import HardwareFormat
from pinloom.core.request import DesignRequest
from pinloom.design.inference import KeyTree, infer_tree
from pinloom.design.problem import DesignProblem, from_request
from pinloom.hardware import load_format


def problem_of(chart: AccessChart, made: HardwareFormat) -> DesignProblem:
    """The chart as the engine takes it, nothing fixed."""
    return from_request(
        DesignRequest(
            chart=chart,
            key_format=made,
            cylinder_formats=(made,) * len(chart.doors),
            fixed=(None,) * len(chart.keys),
        )
    )


def true_parents(sketch: Sketch) -> dict[Name, Name]:
    """The key right above every key of a tree that was grown."""
    parents: dict[Name, Name] = {}
    for path, members in sketch.groups.items():
        *_, last = above = sketch.above[path]
        parents |= {("key", *member): last for member in members if isinstance(member, tuple)}
        parents |= dict(zip(above[1:], above, strict=False))
    return parents


def found_parents(tree: KeyTree) -> dict[int, int | None]:
    """The key right above every key of a tree that was found."""
    parents: dict[int, int | None] = {}
    for node in tree.root.walk():
        parents |= dict.fromkeys(node.leaves, node.key)
        parents |= {child.key: node.key for child in node.children if child.key is not None}
    return parents


def main(arguments: Sequence[str]) -> None:
    """Write, find, compare, tell."""
    areas, groups, doors = (int(part) for part in arguments[:3])
    made = load_format(arguments[3]).format
    assert made is not None
    sketch = uniform(areas, groups, doors)
    chart, (key_name, _) = sketch.chart(), sketch.names()
    start, used = perf_counter(), process_time()
    tree = infer_tree(problem_of(chart, made))
    used, seconds = process_time() - used, perf_counter() - start
    number = {key.name: i for i, key in enumerate(chart.keys)}
    found, true = found_parents(tree), true_parents(sketch)
    numbers = {name: number[key_name[name]] for name in key_name}
    wrong = sum(found.get(numbers[name]) != numbers[above] for name, above in true.items())
    told = {
        "doors": len(chart.doors),
        "keys": len(chart.keys),
        "seconds": round(seconds, 2),
        "processor_s": round(used, 2),
        "wrong": wrong + (tree.root.key != numbers[TOP]),
    }
    print(json.dumps(told))


if __name__ == "__main__":
    main(sys.argv[1:])
