"""The charts of the engine's table by name, and their files.

    python -m bench.engine_charts NAME SEED (matrix | schedule)

writes the files into the current folder, in a process of its own: a process is told to have used
at least the memory that the one which started it held, so that one must stay small.
"""

import json
import sys
from collections.abc import Sequence

from bench.charts import clique, flat, problem_chart
from pinloom.chart import write_matrix, write_schedule
from pinloom.core.chart import AccessChart


def chart_of(name: str, seed: int = 0) -> AccessChart:
    """A chart by name. N6600 = 6,600 change keys under one master, C25 = 25 keys that each open
    all doors but one.
    """
    if name[0] == "N":
        return flat(int(name[1:])).chart(seed)
    if name[0] == "C":
        return clique(int(name[1:])).chart(seed)
    return problem_chart(name, seed)


def main(arguments: Sequence[str]) -> None:
    """Write the files and tell the sizes."""
    name, seed, form = arguments
    chart = chart_of(name, int(seed))
    if form == "schedule":
        write_schedule(chart, "chart.csv", keys="keys.csv")
    else:
        write_matrix(chart, "chart.csv")
    sizes = {
        "doors": len(chart.doors),
        "keys": len(chart.keys),
    }
    print(json.dumps(sizes))


if __name__ == "__main__":
    main(sys.argv[1:])
