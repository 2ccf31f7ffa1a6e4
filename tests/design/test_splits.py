"""Packing by splits: the remembered answer is the plain one, and room never hurts."""

import random

from pinloom.design.codes import capacity
from pinloom.design.splits import Packer, Sign, Sizes, divided, opened, splits_of


def _holds(region: Sizes, shape: Sign, slack: float) -> bool:
    """The rule of the program, without memory."""
    _, leaves, parts = shape
    if not parts:
        return capacity(region) >= leaves + int(leaves * slack)
    return _reach(region, parts, slack) == len(parts)


def _reach(region: Sizes, parts: tuple[Sign, ...], slack: float) -> int:
    if not parts:
        return 0
    inner = opened(region) if parts[0][0] else region
    able = any(flag for _, flag in region) or not parts[0][0]
    best = int(able and _holds(inner, parts[0], slack))
    for split in splits_of(region):
        first, second = divided(region, split)
        count = _reach(first, parts, slack)
        if count and second is not None:
            count += _reach(second, parts[count:], slack)
        best = max(best, count)
    return best


def _region(rng: random.Random, chambers: int) -> Sizes:
    return tuple(sorted((rng.randint(0, 3), rng.random() < 0.3) for _ in range(chambers)))


def _shape(rng: random.Random) -> Sign:
    parts = [(rng.random() < 0.8, rng.randint(1, 6), ()) for _ in range(rng.randint(1, 3))]
    parts.sort(key=lambda part: -part[1])
    return True, 0, tuple(parts)


def test_memory_changes_no_answer() -> None:
    """The same as the plain rule, for regions of two and three chambers."""
    rng = random.Random(1)
    held = 0
    for _ in range(150):
        slack, packer = 0.3, Packer(0.3)
        region = _region(rng, rng.choice([2, 2, 3]))
        for shape in (_shape(rng), _shape(rng)):
            assert packer.holds(region, shape) == _holds(region, shape, slack)
            assert packer.reach(region, shape[2])[0] == _reach(region, shape[2], slack)
            held += packer.holds(region, shape)
    assert 20 < held < 280


def test_more_chambers_and_less_slack_never_hold_less() -> None:
    """What ``could_fit`` rests on: where the whole region without slack does not hold a shape, no
    part of its chambers does, with any slack.
    """
    rng = random.Random(2)
    refused = 0
    for _ in range(400):
        region, shape = _region(rng, 4), _shape(rng)
        if Packer().holds(region, shape):
            continue
        refused += 1
        for chamber in range(len(region)):
            fewer = tuple(sorted((*region[:chamber], (0, False), *region[chamber + 1 :])))
            if not region[chamber][1]:
                assert not Packer(rng.choice([0.0, 0.3, 0.7])).holds(fewer, shape)
        assert not Packer(0.3).holds(region, shape)
        assert not Packer(0.7).holds(region, shape)
    assert refused > 50
