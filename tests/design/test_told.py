"""A layout is told only as far as the finished cuts follow it."""

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.request import Designed, DesignRequest
from pinloom.design.inference import infer_tree
from pinloom.design.problem import from_request
from pinloom.design.solve import design
from pinloom.design.told import told
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


def test_a_plain_tree_follows_its_layout_whole() -> None:
    """Without cross keys nothing has to move: the layout is told, without exceptions."""
    answer = design(_request())
    assert isinstance(answer, Designed)
    assert answer.layout is not None
    assert answer.layout.note == ""
    assert answer.layout.master in answer.bittings


def test_a_key_that_was_moved_is_named() -> None:
    """A hall shared by two keys of one group moves one of them; the layout says which, and every
    other change key differs from the top master in chambers of the layout alone."""
    request = _request(("AA1", "AA2", "AB1"))
    answer = design(request)
    assert isinstance(answer, Designed)
    assert answer.layout is not None
    listed = {chamber for level in answer.layout.levels for chamber in level.chambers}
    off = [
        key.name
        for key, cuts in zip(request.chart.keys, answer.bittings, strict=True)
        if any(
            cut != top and chamber not in listed
            for chamber, (cut, top) in enumerate(zip(cuts, answer.layout.master, strict=True))
        )
    ]
    assert off
    assert all(name in answer.layout.note for name in off)


def test_a_layout_that_the_cuts_left_is_not_told() -> None:
    """One cut of the top master changed, or a third of the keys: no layout."""
    request = _request()
    problem, answer = from_request(request), design(request)
    assert isinstance(answer, Designed)
    layout, cuts = answer.layout, list(answer.bittings)
    assert told(layout, problem, cuts).layout == layout
    top = infer_tree(problem).root.key
    assert top is not None
    last = {c for level in layout.levels for c in level.chambers} if layout else set()
    free = next(c for c in range(6) if c not in last)

    def moved(key: int) -> tuple[int, ...]:
        return tuple((cut + 2) % 10 if c == free else cut for c, cut in enumerate(cuts[key]))

    one = [moved(k) if k == top else cut for k, cut in enumerate(cuts)]
    assert told(layout, problem, one).layout is None
    others = [k for k in range(len(cuts)) if k != top]
    few = [moved(k) if k == others[0] else cut for k, cut in enumerate(cuts)]
    assert told(layout, problem, few).strays == (others[0],)
    many = [moved(k) if k in others[:6] else cut for k, cut in enumerate(cuts)]
    assert told(layout, problem, many).layout is None
