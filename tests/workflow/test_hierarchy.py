"""Branches and leaves of a chart, as the page shows them."""

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.workflow.hierarchy import Branch, hierarchy

OPENS = {
    "Loft 1": ["TOP", "A", "A1"],
    "Loft 2": ["TOP", "A", "A2"],
    "Shed 1": ["TOP", "B", "B1"],
    "Shed 2": ["TOP", "B", "B2"],
    "Gate": ["TOP", "A", "A1", "A2", "B", "B1", "B2"],
    "Store": ["X"],
}
NAMES = ("TOP", "A", "A1", "A2", "B", "B1", "B2", "X")


def _chart() -> AccessChart:
    return AccessChart.build(
        [Door(name=name) for name in OPENS], [Key(name=name) for name in NAMES], OPENS
    )


def _names(branch: Branch) -> tuple[str, list[str], list[str]]:
    return (
        branch.key.name,
        [one.key.name for one in branch.branches],
        [one.key.name for one in branch.leaves],
    )


def test_masters_hold_their_keys() -> None:
    """Two groups under a top master, a key alone under nobody, three levels."""
    tree = hierarchy(_chart())
    assert tree.levels == 3
    (top,) = tree.branches
    assert _names(top) == ("TOP", ["A", "B"], [])
    assert [_names(one) for one in top.branches] == [
        ("A", [], ["A1", "A2"]),
        ("B", [], ["B1", "B2"]),
    ]
    assert [one.key.name for one in tree.leaves] == ["X"]
    assert top.doors == ("Gate", "Loft 1", "Loft 2", "Shed 1", "Shed 2")


def test_crossings_name_masters_alone() -> None:
    """A1 and A share the gate with the other group, whose master stands for its keys; nobody
    crosses the master above.
    """
    (top,) = hierarchy(_chart()).branches
    (group, _) = top.branches
    assert group.leaves[0].across == ("B",)
    assert group.across == ("B",)
    assert top.across == ()
