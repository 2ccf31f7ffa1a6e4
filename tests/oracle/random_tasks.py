"""Random tiny tasks. ``test_oracles`` sees to it that they are not all trivial."""

import random

from tests.oracle.brute import Tiny, TinyLock

SHAPES = ((2, 3, 1), (3, 2, 1), (2, 4, 1), (2, 5, 2), (3, 3, 1), (2, 4, 2), (2, 6, 2), (3, 4, 2))


def any_task(seed: int) -> Tiny:
    """Up to eight doors and keys with random marks; some locks lack pins somewhere, some keyways
    keep some blanks out, some cuts are given.
    """
    rng = random.Random(f"task {seed}")
    positions, levels, step = rng.choice(SHAPES)
    sizes = rng.choice([range(step, levels), range(1, levels), (1, 2), (2, 4)])
    keys, doors, density = rng.randint(2, 8), rng.randint(1, 8), rng.choice([0.15, 0.3, 0.5, 0.7])
    locks = []
    for _ in range(doors):
        openers = tuple(k for k in range(keys) if rng.random() < density)
        outside = frozenset(k for k in range(keys) if k not in openers and rng.random() < 0.05)
        locks.append(TinyLock(openers=openers, active=_active(rng, positions), outside=outside))
    return Tiny(
        positions=positions,
        levels=levels,
        macs=rng.choice([levels - 1, levels - 1, max(1, levels - 2)]),
        least_step=step,
        pins=frozenset(s for s in sizes if s < levels) or frozenset({1}),
        most_masters=rng.choice([1, 2, 4]),
        keys=keys,
        locks=tuple(locks),
        given=tuple(_given(rng, positions, levels) for _ in range(keys)),
    )


def built_task(seed: int) -> Tiny:
    """Families under one or two masters, with a shared lock or without; crossed keys; dense marks:
    near the limits that the counting bounds are about.
    """
    rng = random.Random(f"built {seed}")
    positions, levels, step = rng.choice([*SHAPES[:7], (1, 4, 1), (1, 6, 2), (2, 7, 3)])
    n = rng.randint(2, 6)
    kind = rng.choice(["family", "two masters", "shared", "crossed", "dense"])
    rows: list[tuple[int, ...]] = [tuple(j for j in range(n) if j != i) for i in range(n)]
    keys = n
    if kind in ("family", "shared"):
        rows, keys = [(i, n) for i in range(n)], n + 1
    if kind == "shared":
        rows.append(tuple(range(n + 1)))
    if kind == "two masters":
        rows, keys = [(i, n, n + 1) for i in range(n)] + [(n,)] * rng.randint(0, 1), n + 2
    if kind == "dense":
        rows = [tuple(j for j in range(n) if rng.random() < 0.8) for _ in range(n)]
    return Tiny(
        positions=positions,
        levels=levels,
        macs=rng.choice([levels - 1, levels - 1, max(1, levels - 2)]),
        least_step=step,
        pins=frozenset(range(rng.choice([1, step]), levels)) or frozenset({1}),
        most_masters=rng.choice([1, 1, 2, 4]),
        keys=keys,
        locks=tuple(TinyLock(openers=row, active=_active(rng, positions)) for row in rows),
        given=tuple(_given(rng, positions, levels) for _ in range(keys)),
    )


def _active(rng: random.Random, positions: int) -> tuple[int, ...]:
    full = tuple(range(positions))
    if positions == 1 or rng.random() < 0.85:
        return full
    return tuple(sorted(rng.sample(full, positions - 1)))


def _given(rng: random.Random, positions: int, levels: int) -> tuple[int | None, ...] | None:
    if rng.random() < 0.9:
        return None
    return tuple(rng.randrange(levels) if rng.random() < 0.6 else None for _ in range(positions))
