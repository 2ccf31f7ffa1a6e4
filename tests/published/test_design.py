"""The design engine against numbers from print; each test names its source."""

from collections.abc import Iterator
from itertools import combinations_with_replacement
from math import comb

import numpy as np
import pytest

from pinloom.core.bitting import Bitting
from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.hardware import HardwareFormat
from pinloom.core.job import ClaimKind
from pinloom.core.request import Designed, DesignOutcome, DesignRequest, ProvedImpossible
from pinloom.design import design
from pinloom.proof import prove
from tests.proof.formats import tiny, us_6x10_015
from tests.proof.jobs import k1_chart, pin_chart

pytestmark = pytest.mark.published


def ask(chart: AccessChart, made: HardwareFormat, seed: int = 0) -> DesignOutcome:
    """A design of the whole chart on one format; what would help is not looked for."""
    doors, keys = len(chart.doors), len(chart.keys)
    request = DesignRequest(
        chart=chart,
        key_format=made,
        cylinder_formats=(made,) * doors,
        fixed=(None,) * keys,
        seed=seed,
        seek_remedies=False,
    )
    return design(request)


# -- K-1 ------------------------------------------------------------------------------------------


def groupings(items: tuple[str, ...]) -> Iterator[tuple[frozenset[str], ...]]:
    """Every way of sorting items into groups."""
    if not items:
        yield ()
        return
    first, rest = items[0], items[1:]
    for groups in groupings(rest):
        yield (frozenset({first}), *groups)
        for at, group in enumerate(groups):
            yield (*groups[:at], group | {first}, *groups[at + 1 :])


def least_by_exhaustion(doors: dict[str, frozenset[str]], keys: tuple[str, ...]) -> int:
    """Fewest master pins over every choice of a grouping of the keys for each of six chambers.

    In one chamber the keys fall into groups with equal cuts. A door pays one master pin less than
    the groups its keys fall into. A key is kept out when in some chamber its group holds none of
    the door's keys. Which cuts the groups take does not matter here: ten depths hold four cuts
    that are two apart.
    """
    ways: list[tuple[int, frozenset[tuple[str, str]]]] = []
    wanted = {(k, d) for d, openers in doors.items() for k in keys if k not in openers}
    for groups in groupings(keys):
        of = {key: group for group in groups for key in group}
        pins = sum(len({of[k] for k in openers}) - 1 for openers in doors.values())
        settled = frozenset((k, d) for k, d in wanted if not of[k] & doors[d])
        ways.append((pins, settled))
    best = 10**9
    for chosen in combinations_with_replacement(ways, 6):
        if frozenset().union(*(settled for _, settled in chosen)) >= wanted:
            best = min(best, sum(pins for pins, _ in chosen))
    return best


def test_k1_eight_is_least_by_exhaustion_and_by_the_engine() -> None:
    """K-1: eight master pins are proved least by the engine, and all ways of grouping the four keys
    in six chambers, 15 set partitions each, hold nothing below eight. The design is right.

    Source: Keynotes (Associated Locksmiths of America), February 2022, printed p. 36; 8 derived.
    """
    chart, made = k1_chart(), us_6x10_015()
    names = tuple(key.name for key in chart.keys)
    doors = {
        door.name: frozenset(names[k] for k in openers)
        for door, openers in zip(chart.doors, chart.openers, strict=True)
    }
    assert len(list(groupings(names))) == 15
    assert least_by_exhaustion(doors, names) == 8
    outcome = ask(chart, made)
    assert isinstance(outcome, Designed)
    assert [(c.value, c.kind, c.bound) for c in outcome.claims] == [(8, ClaimKind.PROVED_LEAST, 8)]
    pins = pin_chart(chart, outcome.bittings)
    assert sum(cylinder.master_pins() for cylinder in pins) == 8
    assert prove(chart, made, [made] * 8, outcome.bittings, (), pins).proved


# -- C-9 ------------------------------------------------------------------------------------------


def under_one_master(count: int) -> AccessChart:
    """So many change keys, each with a door of its own, under one top master."""
    names = [f"k{n}" for n in range(count)]
    return AccessChart.build(
        [Door(name=f"d{n}") for n in range(count)],
        [*(Key(name=name) for name in names), Key(name="TMK")],
        {f"d{n}": [name, "TMK"] for n, name in enumerate(names)},
    )


# (chambers, depths, least step, largest set of change keys); MACS forbids nothing
C9 = [(5, 10, 2, 1_280), (6, 10, 2, 6_144), (6, 6, 1, 18_750), (7, 10, 2, 28_672)]


@pytest.mark.parametrize(("chambers", "depths", "step", "most"), C9)
def test_c9_one_key_too_many_is_refused(chambers: int, depths: int, step: int, most: int) -> None:
    """C-9: max over c of C(P, c) q^(P - c); one key more is refused by that theorem and number.

    Source: derived; in line with Cernoch, Kuzelka, Zelezny, "Polynomial and Extensible Solutions in
    Lock-Chart Solving", Applied Artificial Intelligence 30(10), 2016.
    """
    q = -(-depths // step) - 1
    assert most == max(comb(chambers, c) * q ** (chambers - c) for c in range(chambers + 1))
    outcome = ask(under_one_master(most + 1), tiny(chambers, depths, least_step=step, macs=depths))
    assert isinstance(outcome, ProvedImpossible)
    assert outcome.reason.code == "design-too-many-under-master"
    assert (outcome.reason.value("keys"), outcome.reason.value("cap")) == (str(most + 1), str(most))


@pytest.mark.parametrize(("chambers", "depths", "step", "most"), C9)
def test_c9_nearly_all_are_designed(chambers: int, depths: int, step: int, most: int) -> None:
    """C-9, the other way: 95 % of the maximum under one master is designed, and in no cylinder does
    another change key enter.
    """
    made = tiny(chambers, depths, least_step=step, macs=depths)
    count = -(-95 * most // 100)
    outcome = ask(under_one_master(count), made)
    assert isinstance(outcome, Designed)
    *keys, master = outcome.bittings
    assert len(set(outcome.bittings)) == count + 1
    assert not entering(keys, master, step)


def entering(keys: list[Bitting], master: Bitting, step: int) -> list[tuple[int, int]]:
    """(key, cylinder) pairs that open wrongly: in every chamber the key is nearer than the least
    step to the cylinder's own cut or to the master's. Every pair is looked at.
    """
    cuts = np.array(keys, dtype=np.int64)
    near = [  # by chamber and own cut, a bit a key: nearer to that cut or to the master's
        np.array(
            [
                np.packbits((abs(column - own) < step) | (abs(column - above) < step))
                for own in range(int(column.max()) + 1)
            ]
        )
        for column, above in zip(cuts.T, master, strict=True)
    ]
    wrong = []
    for start in range(0, len(keys), 256):
        rows = cuts[start : start + 256]
        inside = near[0][rows[:, 0]]
        for passing, column in zip(near[1:], rows.T[1:], strict=True):
            inside &= passing[column]
        at = np.arange(start, start + len(rows))
        own = np.uint8(128) >> (at % 8).astype(np.uint8)
        assert (inside[at - start, at // 8] & own).all()  # its own key enters
        inside[at - start, at // 8] &= ~own
        for row in np.flatnonzero(inside.any(axis=1)).tolist():
            found = np.flatnonzero(np.unpackbits(inside[row])).tolist()
            wrong += [(key, row + start) for key in found]
    return wrong


def test_an_entering_key_is_noticed() -> None:
    """Under master 222 the keys 422 and 424 do interchange: the first enters the second's door."""
    assert entering([(4, 2, 2), (4, 2, 4)], (2, 2, 2), 2) == [(0, 1)]
    assert entering([(4, 2, 5), (4, 2, 4)], (2, 2, 2), 2) == [(1, 0), (0, 1)]
    assert entering([(4, 2, 4), (4, 4, 2)], (2, 2, 2), 2) == []
