"""Zones of split masks, and sums over grown boxes for every point at once.

The *zone* of a mask is the symbols that pass a lock split on it: those near one of its symbols.
The sum of any values (say the weights of keys) over the box of ``masks`` + {c}, for all points
``c`` together, is separable: along one axis it is a product with the matrix
``M[v, u] = u is in the zone of S + {v}``, one axis after the other. Values are whole numbers below
2**24, which single precision adds exactly in any order. Locks that split alike in some positions
share those steps.

Stacks (sizes of master pins, most of them in a position) are charged per axis, as ``STACK``
each, so that a search may pass through a bad stack and is driven out of it.
"""

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from pinloom.design.problem import DesignProblem
from pinloom.design.symbols import SymbolSpace

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

Row = tuple[tuple[int, ...], ...]  # split masks by stage

STACK = 16.0  # cost of one impossible stack
SINGLE_THREAD = 200_000  # multiplications of one matrix product


class Zones:
    """Tables by position and split mask, made when first wanted. ``near[p][s]`` = bit mask of the
    symbols that open symbol ``s``; ``charged`` = positions in which a stack can be at fault.
    """

    def __init__(self, problem: DesignProblem, space: SymbolSpace) -> None:
        self._problem, self._space = problem, space
        self.shape, self.size = space.shape, space.size
        self.near = [_bits(space.near(p)) for p in range(problem.positions)]
        self.charged = [p for p in range(problem.positions) if self._may_charge(p)]
        self._last_stage = max(0, problem.positions - 2)
        self._lead = [int(np.prod(self.shape[:p])) for p in range(problem.positions)]
        self._tail = _small_products(self.shape)
        self._matrices: dict[tuple[int, tuple[int, ...]], Floats] = {}
        self._charges: dict[tuple[int, int], Floats] = {}
        self._stacks: dict[tuple[int, int], int] = {}

    def zone(self, position: int, mask: int) -> list[int]:
        """Symbols that pass a lock split on ``mask``."""
        near = self.near[position]
        return [v for v in range(self.shape[position]) if near[v] & mask]

    def _matrix(self, stage: int, code: tuple[int, ...]) -> Floats:
        """The matrix of a stage: row v, column u = 1 where u passes a lock split on mask + {v};
        the last stage has it transposed, and the product of both positions' matrices.
        """
        found = self._matrices.get((stage, code))
        if found is None:
            parts = [self._grown_zones(stage + i, mask) for i, mask in enumerate(code)]
            found = parts[0] if len(parts) == 1 else np.kron(parts[0], parts[1])
            if stage == self._last_stage:
                found = found.T
            found = self._matrices[stage, code] = np.ascontiguousarray(found)
        return found

    def _grown_zones(self, position: int, mask: int) -> Floats:
        n, near = self.shape[position], self.near[position]
        zones = [[bool(near[u] & (mask | 1 << v)) for u in range(n)] for v in range(n)]
        return np.array(zones, dtype=np.float32)

    def stack_faults(self, position: int, mask: int) -> int:
        """Differences that no pin makes, and master pins too many, of one stack."""
        found = self._stacks.get((position, mask))
        if found is None:
            found = self._stacks[position, mask] = self._count_faults(position, mask)
        return found

    def _count_faults(self, position: int, mask: int) -> int:
        levels = [v for s, v in enumerate(self._space.levels[position]) if mask >> s & 1]
        gaps = [b - a for a, b in zip(levels, levels[1:], strict=False)]
        odd = sum(gap not in self._problem.pin_sizes for gap in gaps)
        return odd + max(0, len(gaps) - self._problem.max_masters)

    def _may_charge(self, position: int) -> bool:
        """Whether any stack of a position can be at fault."""
        levels = self._space.levels[position]
        gaps = {b - a for a, b in combinations(levels, 2)}
        return not gaps <= self._problem.pin_sizes or len(levels) - 1 > self._problem.max_masters

    def charge(self, position: int, mask: int) -> Floats:
        """Cost of the stack split on mask + {v}, for every v."""
        found = self._charges.get((position, mask))
        if found is None:
            costs = [
                STACK * self.stack_faults(position, mask | 1 << v)
                for v in range(self.shape[position])
            ]
            found = np.array(costs, dtype=np.float32)
            self._charges[position, mask] = found
        return found

    def box_sums(self, values: Floats, masks: Ints, hefts: Floats) -> Floats:
        """Sum over locks of the values in the box of ``masks`` + {c}, times the lock's heft, for
        every point ``c``.
        """
        rows: dict[Row, float] = {}
        for row, heft in zip(map(self._stages, masks.tolist()), hefts.tolist(), strict=True):
            rows[row] = rows.get(row, 0.0) + heft
        kinds = [len(set(column)) for column in zip(*rows, strict=True)]
        order = sorted(range(len(kinds)), key=lambda at: (kinds[at], at))
        return self._branch(values, list(rows.items()), order, 0)

    def box_tables(self, values: Floats, masks: Ints) -> Floats:
        """Per lock, the sum of the values in the box of ``masks`` + {c} for every point; an array
        locks x points.
        """
        rows = list(map(self._stages, masks.tolist()))
        kinds = [len(set(column)) for column in zip(*rows, strict=True)]
        order = sorted(range(len(kinds)), key=lambda at: (kinds[at], at))
        tables = np.empty((len(rows), self.size), dtype=np.float32)
        walk: list[tuple[Floats, list[int], int]] = [(values, list(range(len(rows))), 0)]
        while walk:
            start, chosen, at = walk.pop()
            if at == len(order):
                tables[chosen] = start
                continue
            parts: dict[tuple[int, ...], list[int]] = {}
            for number in chosen:
                parts.setdefault(rows[number][order[at]], []).append(number)
            for code, part in parts.items():
                walk.append((self._grown(start, order[at], code), part, at + 1))
        return tables

    def _stages(self, masks: list[int]) -> Row:
        """Masks by stage: one position each, the last two positions together (their axes are short
        in memory, and one wider product is quicker than two narrow ones).
        """
        return (*((mask,) for mask in masks[:-2]), tuple(masks[-2:]))

    def _grown(self, values: Floats, stage: int, code: tuple[int, ...]) -> Floats:
        """Sum one stage's axis over the grown zone, in place of every point."""
        matrix = self._matrix(stage, code)
        found: Floats
        if stage == self._last_stage:
            found = np.matmul(values.reshape(self._tail), matrix)
        else:
            grid = values.reshape(self._lead[stage], self.shape[stage], -1)
            found = np.matmul(matrix, grid)
        return found.reshape(-1)

    def _branch(
        self, values: Floats, rows: list[tuple[Row, float]], order: list[int], at: int
    ) -> Floats:
        """Walk the stages in ``order``, once for every distinct beginning."""
        while len(rows) == 1 and at < len(order):
            values = self._grown(values, order[at], rows[0][0][order[at]])
            at += 1
        if at == len(order):
            times = sum(times for _, times in rows)
            return values if times == 1 else values * np.float32(times)
        kinds: dict[tuple[int, ...], list[tuple[Row, float]]] = {}
        for item in rows:
            kinds.setdefault(item[0][order[at]], []).append(item)
        total: Floats | None = None
        for code, chosen in kinds.items():
            part = self._branch(self._grown(values, order[at], code), chosen, order, at + 1)
            total = part if total is None else np.add(total, part, out=total)
        assert total is not None
        return total


def _small_products(shape: tuple[int, ...]) -> tuple[int, int, int]:
    """Batches, rows and columns of the last stage. Each product stays below the size at which the
    library would wake further threads: on a busy machine waiting for them costs ten times the
    product itself.
    """
    width = int(np.prod(shape[-2:]))
    rows = int(np.prod(shape)) // width
    batches = 1
    for p in range(max(0, len(shape) - 2)):
        if rows // batches * width * width > SINGLE_THREAD:
            batches *= shape[p]
    return batches, rows // batches, width


def _bits(matrix: NDArray[np.bool_]) -> list[int]:
    return [sum(1 << j for j, flag in enumerate(row) if flag) for row in matrix.tolist()]
