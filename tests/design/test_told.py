"""A layout holds only as far as the finished cuts follow it."""

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.job import Layout
from pinloom.core.request import DesignRequest
from pinloom.design.inference import infer_tree
from pinloom.design.problem import DesignProblem, from_request
from pinloom.design.sat import Meter, Verdict
from pinloom.design.search import find
from pinloom.design.told import told
from pinloom.design.watch import CONFLICTS, Watch
from pinloom.hardware import load_format

FORMAT = load_format("us-6x10-015").format
GROUPS, ROOMS = "ABC", range(1, 6)


def _request(*halls: tuple[str, ...]) -> DesignRequest:
    """Three groups of five rooms under a top master, and a hall for each further set of keys."""
    assert FORMAT is not None
    marks = {f"Room {g}{n}": [f"A{g}{n}", f"A{g}", "TOP"] for g in GROUPS for n in ROOMS} | {
        f"Hall {n}": [*keys, "TOP"] for n, keys in enumerate(halls)
    }
    names = sorted({key for row in marks.values() for key in row})
    chart = AccessChart.build(
        [Door(name=name) for name in marks], [Key(name=name) for name in names], marks
    )
    return DesignRequest(
        chart=chart,
        key_format=FORMAT,
        cylinder_formats=(FORMAT,) * len(chart.doors),
        fixed=(None,) * len(chart.keys),
    )


def _found(request: DesignRequest) -> tuple[DesignProblem, Layout, list[Bitting]]:
    """The first design of a chart, with the layout that it began with."""
    problem = from_request(request)
    found = find(problem, Meter(100 * CONFLICTS, Watch(None)), Watch(None), 0)
    assert found.verdict is Verdict.SAT
    assert found.layout is not None
    return problem, found.layout, list(found.bittings)


def test_a_plain_tree_follows_its_layout() -> None:
    """Without cross keys nothing has to move."""
    problem, layout, cuts = _found(_request())
    assert told(layout, problem, cuts) == layout
    assert layout.master in cuts


def test_few_keys_may_be_moved() -> None:
    """A hall shared by two keys of one group moves one of them: the layout still holds, though some
    key differs from the top master in other chambers.
    """
    problem, layout, cuts = _found(_request(("AA1", "AA2", "AB1")))
    assert told(layout, problem, cuts) == layout
    listed = {chamber for level in layout.levels for chamber in level.chambers}
    assert any(
        cut != top and chamber not in listed
        for key in cuts
        for chamber, (cut, top) in enumerate(zip(key, layout.master, strict=True))
    )


def test_a_layout_that_the_cuts_left_does_not_hold() -> None:
    """One cut of the top master changed, or a third of the keys: no layout; one key: it holds."""
    problem, layout, cuts = _found(_request())
    top = infer_tree(problem).root.key
    assert top is not None
    last = {c for level in layout.levels for c in level.chambers}
    free = next(c for c in range(6) if c not in last)

    def moved(key: int) -> Bitting:
        return tuple((cut + 2) % 10 if c == free else cut for c, cut in enumerate(cuts[key]))

    one = [moved(k) if k == top else cut for k, cut in enumerate(cuts)]
    assert told(layout, problem, one) is None
    others = [k for k in range(len(cuts)) if k != top]
    few = [moved(k) if k == others[0] else cut for k, cut in enumerate(cuts)]
    assert told(layout, problem, few) == layout
    many = [moved(k) if k in others[:6] else cut for k, cut in enumerate(cuts)]
    assert told(layout, problem, many) is None
    assert told(None, problem, cuts) is None
