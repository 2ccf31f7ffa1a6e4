"""Size against time: ours and the plain ways, both axes logarithmic.

What a mark means is told by its shape and by whether it is filled; grey only helps. Plain trees are
joined by lines, as far as they were done. An arrow stands on what was ended at its limit, and would
have taken longer.
"""

from collections.abc import Sequence
from pathlib import Path

from bench.engine_cases import ONE_STEP
from bench.engine_table import DONE, best_of
from bench.kit import Record

Point = tuple[float, float]
#: doors, seconds, whether it came to a verdict, whether it is one of the joined trees
Mark = tuple[float, float, bool, bool]

#: way -> marker, colour, line, name
LOOKS = {
    "ours": ("o", "black", "-", "pinloom"),
    "direct": ("^", "0.35", "--", "plain SAT encoding"),
    "cpsat": ("D", "0.6", ":", "CP-SAT"),
}

ENDED = {"ours": "no verdict", "direct": "ended at its limit", "cpsat": "ended at its limit"}


def draw(records: Sequence[Record], long: Sequence[Record], picture: Path) -> None:
    """Write the picture: processor seconds of whole processes against doors."""
    import matplotlib as mpl

    mpl.use("Agg")
    from matplotlib import pyplot as plt

    shown, axes = plt.subplots(figsize=(8, 5.2))
    for way, (marker, colour, line, name) in LOOKS.items():
        points = _points(way, records, long)
        curve = _until_ended(sorted(p for p in points if p[3]))
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
            if some and not done and way != "ours":
                xs, ys = _columns(some)
                up = [0.3 * y for y in ys]
                axes.errorbar(xs, ys, yerr=up, lolims=True, fmt="none", color=colour, zorder=1)
    axes.set(xscale="log", yscale="log")
    axes.set_xlabel("doors", fontsize=12)
    axes.set_ylabel("processor seconds of the whole process", fontsize=12)
    axes.xaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:g}")
    axes.tick_params(labelsize=11)
    axes.grid(visible=True, which="major", alpha=0.3)
    axes.legend(
        fontsize=10, loc="upper center", bbox_to_anchor=(0.45, 1.18), ncols=3, frameon=False
    )
    shown.tight_layout()
    shown.savefig(picture, dpi=100, metadata={"Software": None})


def _points(way: str, records: Sequence[Record], long: Sequence[Record]) -> list[Mark]:
    """The marks of one way; only first seeds went to the plain ones."""
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
        joined = record.get("family") == "trees" and record["hardware"] != ONE_STEP
        doors, seconds = record["doors"], figures[name]
        assert isinstance(doors, int | float)
        assert isinstance(seconds, int | float)
        points.append((doors, seconds, done, joined))
    return points


def _until_ended(points: Sequence[Mark]) -> list[Point]:
    """The joined points: all that were done, and the first that was ended."""
    last = next((i for i, point in enumerate(points) if not point[2]), len(points))
    return [(x, y) for x, y, _, _ in points[: last + 1]]


def _columns(points: Sequence[Point]) -> tuple[list[float], list[float]]:
    return [x for x, _ in points], [y for _, y in points]
