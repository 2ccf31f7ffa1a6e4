"""The charts of the engine's table by name: those of ``charts`` and two that are impossible."""

from bench.charts import clique, flat, problem_chart
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
