"""Size against time: ours and the plain ways, both axes logarithmic.

What a mark means is told by its shape and by whether it is filled; grey only helps. Plain trees on
one format are joined by lines, since there the sizes alone differ.
"""

from collections.abc import Sequence
from pathlib import Path

from bench.engine_cases import TWO_STEP
from bench.engine_table import DONE, best_of
from bench.kit import Record

Point = tuple[float, float]

#: way -> marker, colour, line, name
LOOKS = {
    "ours": ("o", "black", "-", "pinloom"),
    "direct": ("^", "0.35", "--", "plain SAT encoding"),
    "cpsat": ("D", "0.6", ":", "CP-SAT"),
}


def draw(records: Sequence[Record], long: Sequence[Record], picture: Path) -> None:
    """Write the picture: processor seconds of whole processes against doors."""
    import matplotlib as mpl

    mpl.use("Agg")
    from matplotlib import pyplot as plt

    shown, axes = plt.subplots(figsize=(8, 5.2))
    for way, (marker, colour, line, name) in LOOKS.items():
        points = _points(way, records, long)
        curve = sorted({(x, y) for x, y, _, on_line in points if on_line})
        axes.plot(*_columns(curve), line, color=colour, linewidth=1.2, zorder=1)
        for done, label in ((True, name), (False, f"{name}, {ENDED[way]}")):
            some = [(x, y) for x, y, is_done, _ in points if is_done is done]
            if some:
                axes.scatter(
                    *_columns(some),
                    marker=marker,
                    s=36,
                    facecolors=colour if done else "white",
                    edgecolors=colour,
                    linewidths=1.3,
                    label=label,
                    zorder=2,
                )
    axes.set(xscale="log", yscale="log")
    axes.set_xlabel("doors", fontsize=12)
    axes.set_ylabel("processor seconds of the whole process", fontsize=12)
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.tick_params(labelsize=11)
    axes.grid(visible=True, which="major", alpha=0.3)
    axes.legend(fontsize=10, loc="upper center", bbox_to_anchor=(0.5, 1.17), ncols=3, frameon=False)
    shown.tight_layout()
    shown.savefig(picture, dpi=100, metadata={"Software": None})


ENDED = {"ours": "no verdict", "direct": "ended", "cpsat": "ended"}


def _points(
    way: str, records: Sequence[Record], long: Sequence[Record]
) -> list[tuple[float, float, bool, bool]]:
    """Doors, seconds, whether it came to a verdict, whether it is one of the joined trees."""
    points = []
    for record in records:
        if way == "ours":
            figures, done = record, record["verdict"] in DONE
            name = "processor_s"
        else:
            if record["seed"]:
                continue
            found, _ = best_of(way, record, long)
            if found is None:
                continue
            figures, done, name = found, not found.get(f"{way}_ended"), f"{way}_processor_s"
        if record.get("form") == "marks":
            continue
        joined = record.get("family") == "trees" and record["hardware"] == TWO_STEP
        doors, seconds = record["doors"], figures[name]
        assert isinstance(doors, int | float)
        assert isinstance(seconds, int | float)
        points.append((doors, seconds, done, joined))
    return points


def _columns(points: Sequence[Point]) -> tuple[list[float], list[float]]:
    return [x for x, _ in points], [y for _, y in points]
