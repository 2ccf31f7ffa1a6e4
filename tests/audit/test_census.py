"""The walk through the key space: blocks, memory of living doors, and real sizes on a sample."""

import numpy as np
import pytest

from pinloom.audit import Reach
from pinloom.audit import census as walk
from pinloom.audit.census import census_of, doors_opened
from pinloom.audit.counting import count_bittings
from tests.audit.brute import cuttable


def _boxes(seed: int, doors: int, positions: int, levels: int) -> np.ndarray:
    """Random boxes: each level operates a position in about a third of the cases."""
    flags: np.ndarray = np.random.default_rng(seed).random((doors, positions, levels)) < 0.34
    return flags


@pytest.mark.parametrize("block", [1, 5, 30, 2500])
@pytest.mark.parametrize("macs", [2, 4])
def test_blocks_cover_the_key_space_in_order(
    monkeypatch: pytest.MonkeyPatch, block: int, macs: int
) -> None:
    """Whatever the size of a block: keys in the order of the bittings, counted as a listing does,
    keys that MACS forbids marked; the strongest are the same.
    """
    boxes = _boxes(3, 90, 4, 5)
    monkeypatch.setattr(walk, "BLOCK", block)
    told = [
        (first + offset, int(doors))
        for first, counts in doors_opened(boxes, macs)
        for offset, doors in enumerate(counts)
        if doors >= 0
    ]
    wanted = [
        (
            int("".join(map(str, bitting)), 5),
            sum(all(box[p, level] for p, level in enumerate(bitting)) for box in boxes),
        )
        for bitting in cuttable(4, 5, macs)
    ]
    assert told == wanted
    found = census_of(boxes, macs, Reach.EXACT, [])
    assert found is not None
    strongest = sorted(wanted, key=lambda one: (-one[1], one[0]))[:10]
    assert [one.doors for one in found.strongest] == [doors for _, doors in strongest]


def test_issued_keys_are_never_incidental() -> None:
    """However strong, a key of the job is left out, and the next strongest follow."""
    boxes = _boxes(4, 200, 3, 4)
    free = census_of(boxes, 4, Reach.EXACT, [])
    assert free is not None
    issued = [(f"k{i}", one.levels) for i, one in enumerate(free.strongest)]
    found = census_of(boxes, 4, Reach.EXACT, issued)
    assert found is not None
    assert not {one.levels for one in found.strongest} & {levels for _, levels in issued}
    assert found.opens == free.opens
    assert found.strongest[0].doors <= free.strongest[-1].doors


@pytest.mark.parametrize(("positions", "macs"), [(6, 7), (7, 9)])
def test_real_key_spaces_equal_a_sample(positions: int, macs: int) -> None:
    """Six and seven positions of ten depths: every key once, and a thousand of them by hand."""
    boxes = _boxes(positions, 500, positions, 10)
    total = 0
    rng = np.random.default_rng(0)
    sample = {int(n) for n in rng.integers(0, 10**positions, size=1000)}
    for first, counts in doors_opened(boxes, macs):
        total += int((counts >= 0).sum())
        for number in sample & set(range(first, first + len(counts))):
            levels = [int(digit) for digit in str(number).zfill(positions)]
            legal = all(abs(a - b) <= macs for a, b in zip(levels, levels[1:], strict=False))
            opens = boxes[:, np.arange(positions), levels].all(axis=1).sum() if legal else -1
            assert counts[number - first] == opens
    assert total == count_bittings(positions, 10, macs)


def test_a_key_space_too_large_is_not_walked() -> None:
    """Nine positions of ten depths give no census."""
    assert census_of(_boxes(0, 2, 9, 10), 9, Reach.EXACT, []) is None
