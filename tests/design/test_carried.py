"""What a layout says of cuts written down by hand: carried, varied, aside, or no layout at all."""

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key, KeyStanding
from pinloom.core.job import Layout, LayoutGroup
from pinloom.design.carried import carried
from pinloom.hardware import load_format

MADE = load_format("us-5x6-023").format
TOP = (2, 2, 2, 2, 2)
MASTERS = {"TOP": TOP, "A": (0, 2, 2, 2, 2), "B": (4, 2, 2, 2, 2)}


def _groups(sizes: dict[str, int]) -> tuple[dict[str, tuple[str, ...]], dict[str, Bitting]]:
    """Groups under TOP: doors with their keys, and cuts that tell the groups apart in chamber 1 and
    the keys in chambers 4 and 5.
    """
    opens: dict[str, tuple[str, ...]] = {
        f"{g}{n}": (f"{g}{n}", g, "TOP") for g, size in sizes.items() for n in range(size)
    }
    words = [(a, b) for a in (0, 1, 3, 4) for b in (0, 1, 3, 4)]
    cuts: dict[str, Bitting] = {
        f"{g}{n}": (MASTERS[g][0], 2, 2, *words[n])
        for g, size in sizes.items()
        for n in range(size)
    }
    return opens, cuts | {name: MASTERS[name] for name in ("TOP", *sizes)}


def _read(
    opens: dict[str, tuple[str, ...]],
    cuts: dict[str, Bitting],
    *,
    under: dict[str, str] | None = None,
    idle: tuple[str, ...] = (),
) -> Layout | None:
    assert MADE is not None
    keys = [
        Key(
            name=name,
            under=(under or {}).get(name, ""),
            standing=KeyStanding.RETIRED if name in idle else KeyStanding.ACTIVE,
        )
        for name in cuts
    ]
    chart = AccessChart.build([Door(name=door) for door in opens], keys, opens)
    return carried(chart, MADE, [cuts[key.name] for key in chart.keys])


def _by_master(layout: Layout | None) -> dict[str, LayoutGroup]:
    assert layout is not None
    return {group.master: group for group in layout.groups}


def test_carried_and_varied() -> None:
    """One depth where all keys have it, all depths where they differ; masters by what they keep."""
    groups = _by_master(_read(*_groups({"A": 6, "B": 5})))
    assert list(groups) == ["TOP", "A", "B"]
    assert groups["A"].carried == ((0,), (2,), (2,), (0, 1), (0, 1, 3, 4))
    assert groups["B"].carried == ((4,), (2,), (2,), (0, 1), (0, 1, 3, 4))
    assert groups["TOP"].carried == ((0, 4), (2,), (2,), (0, 1, 2), (0, 1, 2, 3, 4))
    assert groups["A"].kept == (1, 2, 3, 4)
    assert (groups["TOP"].parts, groups["TOP"].keys, groups["A"].keys) == (2, 11, 6)
    assert all(group.moved == () for group in groups.values())


def test_levels_sum_up() -> None:
    """Which chambers tell the masters apart, and which the change keys."""
    layout = _read(*_groups({"A": 6, "B": 5}))
    assert layout is not None
    assert layout.master == TOP
    assert [(level.name, level.chambers, level.levels) for level in layout.levels] == [
        ("groups", (0,), ((0, 4),)),
        ("keys", (3, 4), ((0, 1), (0, 1, 3, 4))),
    ]


def test_one_in_ten_stands_aside() -> None:
    """A key of its own kind among ten is named; among nine it only widens what is told."""
    opens, cuts = _groups({"A": 10, "B": 9})
    cuts |= {"A3": (0, 5, 2, 0, 4), "B3": (4, 5, 2, 0, 4)}
    groups = _by_master(_read(opens, cuts))
    assert groups["A"].moved == ("A3",)
    assert groups["A"].carried[1] == (2,)
    assert groups["B"].moved == ()
    assert groups["B"].carried[1] == (2, 5)


def test_a_quarter_may_lack_the_mark() -> None:
    """Keys without the depth that tells the group from the master above stand aside while they are
    no more than a quarter, or one of three; else the group shows no layout.
    """
    stray: dict[str, Bitting] = {"A0": (2, 5, 5, 2, 2), "A1": (2, 5, 4, 2, 2)}
    for size, strays, few in ((3, 1, True), (8, 2, True), (7, 2, False), (2, 1, False)):
        opens, cuts = _groups({"A": size, "B": 5})
        cuts |= dict(list(stray.items())[:strays])
        group = _by_master(_read(opens, cuts))["A"]
        assert bool(group.carried) is few
        assert group.moved == (tuple(list(stray)[:strays]) if few else ())


def test_a_key_in_no_group() -> None:
    """A key over doors of several groups is named, and a key outside the top master; a retired one
    opens nothing and is not.
    """
    opens, cuts = _groups({"A": 6, "B": 5})
    opens["A0"] = (*opens["A0"], "X")
    opens["B0"] = (*opens["B0"], "X")
    opens["flares"] = ("Z",)
    more = {"X": (5, 5, 5, 5, 4), "Z": (1, 5, 1, 5, 1), "old": (5, 1, 5, 1, 5)}
    layout = _read(opens, cuts | more, idle=("old",))
    assert layout is not None
    assert layout.crossing == ("X", "Z")
    assert layout.exceptions() == ("X", "Z")


def test_the_table_of_keys_says_who_is_under_whom() -> None:
    """Marks alone cannot tell a foreman from a service key over the same doors: the table can."""
    opens, cuts = _groups({"A": 6, "B": 5})
    opens = {door: (*row, "S") if door[1] in "01" else row for door, row in opens.items()}
    cuts["S"] = (5, 5, 5, 5, 4)
    under = {name: name[0] for name in cuts if len(name) == 2} | {"A": "TOP", "B": "TOP"}
    layout = _read(opens, cuts, under=under)
    assert layout is not None
    assert [group.master for group in layout.groups] == ["TOP", "A", "B"]
    assert layout.crossing == ("S",)


def test_keys_without_a_master_of_their_own() -> None:
    """Single doors right under the top master are a group, told by its first key."""
    opens, cuts = _groups({"A": 6, "B": 5})
    opens |= {f"s{n}": (f"s{n}", "TOP") for n in range(4)}
    cuts |= {f"s{n}": (5, 2, 2, 4, n) for n in range(4)}
    group = _by_master(_read(opens, cuts))[""]
    assert (group.above, group.first, group.keys) == ("TOP", "s0", 4)
    assert group.carried == ((5,), (2,), (2,), (4,), (0, 1, 2, 3))


def test_one_group_alone_needs_no_mark() -> None:
    """Change keys under a single master are told by what they vary through."""
    opens, cuts = _groups({"A": 5})
    opens = {door: tuple(k for k in row if k != "TOP") for door, row in opens.items()}
    del cuts["TOP"]
    groups = _by_master(_read(opens, cuts))
    assert list(groups) == ["A"]
    assert groups["A"].carried == ((0,), (2,), (2,), (0, 1), (0, 1, 3, 4))


def test_several_masters_side_by_side() -> None:
    """Two systems in one chart: nobody is above both, and each is told."""
    opens, cuts = _groups({"A": 6, "B": 5})
    opens = {door: tuple(k for k in row if k != "TOP") for door, row in opens.items()}
    del cuts["TOP"]
    layout = _read(opens, cuts)
    assert layout is not None
    assert layout.master == ()
    assert {group.master: group.above for group in layout.groups} == {"A": "", "B": ""}
    assert all(len(group.carried[0]) == 1 for group in layout.groups)


def test_no_tree_no_layout() -> None:
    """Doors with a key each have no master and so no layout."""
    assert _read({"a": ("a",), "b": ("b",)}, {"a": (0, 1, 2, 3, 4), "b": (4, 3, 2, 1, 0)}) is None


def test_who_does_not_follow_a_higher_master_is_no_example_below() -> None:
    """A key without the mark of its area stands aside in its group too: what is told of the group
    is what the others have.
    """
    opens: dict[str, tuple[str, ...]] = {}
    cuts: dict[str, Bitting] = {"TOP": TOP, "A": (0, 2, 2, 2, 2), "B": (4, 2, 2, 2, 2)}
    for area, mark in (("A", 0), ("B", 4)):
        for group, code in ((f"{area}A", (2, 1)), (f"{area}B", (1, 2))):
            cuts[group] = (mark, *code, 2, 2)
            for n, depth in enumerate((0, 1, 3, 4)):
                opens[f"{group}{n}"] = (f"{group}{n}", group, area, "TOP")
                cuts[f"{group}{n}"] = (mark, *code, depth, 2)
    cuts["AA3"] = (2, 2, 1, 5, 2)
    groups = _by_master(_read(opens, cuts))
    assert groups["A"].carried[0] == (0,)
    assert groups["AA"].moved == ("AA3",)
    assert groups["AA"].carried == ((0,), (2,), (1,), (0, 1, 3), (2,))
    assert groups["AA"].keys == 4
