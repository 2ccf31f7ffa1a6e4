"""Rules about a single key: which bittings one key may have, whatever the other keys are.

- MACS: neighbouring cuts differ by no more (common trade rule; each format stores its own number).
- Given cuts stay.
- Key rules with force REQUIRE. A key whose cuts are all given exists already: it is taken as it is.
- A bitting of another system must not be equal to a key of this one (``avoid``).
- No key of this job may open a foreign cylinder (``avoid_stacks``): somewhere it must be
  ``least_step`` or more from every level on which that cylinder splits. A position without
  levels has no pins and passes every key.
- A control key may be so much shallower than the deepest cut of a lock that the smallest
  build-up pin just fits. Here the control key simply keeps clear of cuts that could ever fail;
  ``exact`` asks the finer question.

Every part of the engine asks ``Legal``; nothing here looks at locks.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from pinloom.core.bitting import Bitting, keeps_macs
from pinloom.core.keyrules import Force, KeyRules, breaches
from pinloom.design.problem import DesignProblem

_Scalar = TypeVar("_Scalar", bound=np.generic)
_FORCES = (
    "not_all_equal",
    "neighbours_equal",
    "total_equal",
    "not_steady",
    "not_deep_at_bow",
)


def required(rules: KeyRules) -> KeyRules:
    """The rules with everything that is only advised switched off."""
    off = {name: Force.OFF for name in _FORCES if getattr(rules, name) is not Force.REQUIRE}
    return replace(rules, **off)  # type: ignore[arg-type]


def advised(rules: KeyRules) -> KeyRules:
    """The rules with everything that is required switched off."""
    off = {name: Force.OFF for name in _FORCES if getattr(rules, name) is not Force.ADVISE}
    return replace(rules, **off)  # type: ignore[arg-type]


def forces(rules: KeyRules) -> tuple[str, ...]:
    """Fields of the rules that are in force at all."""
    return tuple(name for name in _FORCES if getattr(rules, name) is not Force.OFF)


class Legal:
    """Which bittings the keys of a problem may have, one key at a time."""

    def __init__(self, problem: DesignProblem) -> None:
        self.problem = problem
        self._rules = required(problem.rules)
        self.avoided = frozenset(problem.avoid)
        self._stacks = foreign_zones(problem)

    def allows(self, key: int, bitting: Bitting) -> bool:
        """Whether a key may have this bitting."""
        return not self.breaks(key, bitting)

    def breaks(self, key: int, bitting: Bitting) -> list[str]:
        """What a bitting breaks: ``given``, ``macs``, rule fields, ``avoid``, ``avoid_stacks``,
        ``control``.
        """
        problem = self.problem
        fixed = problem.fixed[key]
        found: list[str] = []
        if fixed is not None and any(
            f is not None and f != b for f, b in zip(fixed, bitting, strict=True)
        ):
            found.append("given")
        if not keeps_macs(bitting, problem.macs):
            found.append("macs")
        if not given_whole(problem, key):
            found += breaches(bitting, problem.levels, problem.bow_first, self._rules)
        if bitting in self.avoided:
            found.append("avoid")
        if self.opens_foreign(bitting):
            found.append("avoid_stacks")
        if any(b < low for low, b in zip(control_floor(problem, key), bitting, strict=True)):
            found.append("control")
        return found

    def opens_foreign(self, bitting: Bitting) -> bool:
        """Whether a bitting opens one of the foreign cylinders."""
        return any(all(z[p, b] for p, b in enumerate(bitting)) for z in self._stacks)

    def mask(self, key: int | None, symbols: Sequence[Sequence[int]]) -> NDArray[np.bool_]:
        """Allowed points of the product of ``symbols`` (levels per position), as a dense array of
        that shape. ``key`` None: a key with no given cuts that is no control key.
        """
        problem = self.problem
        shape = tuple(len(s) for s in symbols)
        levels = [np.asarray(s, dtype=np.int64) for s in symbols]
        ok: NDArray[np.bool_] = np.ones(shape, dtype=bool)
        for p in range(problem.positions - 1):
            steep = np.abs(levels[p][:, None] - levels[p + 1][None, :]) > problem.macs
            ok &= ~_along(steep, (p, p + 1), len(shape))
        if key is None or not given_whole(problem, key):
            self._mask_rules(ok, levels)
        for stack in self._stacks:
            inside: NDArray[np.bool_] = np.ones((1,) * len(shape), dtype=bool)
            for p, options in enumerate(levels):
                inside = inside & _along(stack[p][options], (p,), len(shape))
            ok &= ~inside
        self._mask_points(ok, symbols)
        if key is not None:
            for p, options in enumerate(levels):
                ok &= _along(self._own(key, p, options), (p,), len(shape))
        return ok

    def _own(self, key: int, position: int, options: NDArray[np.int64]) -> NDArray[np.bool_]:
        fixed = self.problem.fixed[key]
        good = np.ones(len(options), dtype=bool)
        if fixed is not None and fixed[position] is not None:
            good &= options == fixed[position]
        good &= options >= control_floor(self.problem, key)[position]
        return good

    def _mask_points(self, ok: NDArray[np.bool_], symbols: Sequence[Sequence[int]]) -> None:
        places = [{level: i for i, level in enumerate(s)} for s in symbols]
        for word in self.avoided:
            if all(b in place for b, place in zip(word, places, strict=True)):
                ok[tuple(place[b] for b, place in zip(word, places, strict=True))] = False

    def _mask_rules(self, ok: NDArray[np.bool_], levels: list[NDArray[np.int64]]) -> None:
        """Clear the points that break a required rule; one pass over whole arrays a rule."""
        rules, problem, n = self._rules, self.problem, ok.ndim
        if not forces(rules):
            return
        axes = [_along(options, (p,), n) for p, options in enumerate(levels)]
        if rules.not_all_equal is not Force.OFF and n > 1:
            ok &= ~_all(axes[p] == axes[p + 1] for p in range(n - 1))
        if rules.neighbours_equal is not Force.OFF:
            run = rules.most_neighbours_equal
            for start in range(n - run):
                ok &= ~_all(axes[p] == axes[p + 1] for p in range(start, start + run))
        if rules.total_equal is not Force.OFF:
            for level in range(problem.levels):
                count = sum((a == level).astype(np.int8) for a in axes)
                ok &= count <= rules.most_total_equal
        if rules.not_steady is not Force.OFF and n > 1:
            ok &= ~_all(axes[p] < axes[p + 1] for p in range(n - 1))
            ok &= ~_all(axes[p] > axes[p + 1] for p in range(n - 1))
        if rules.not_deep_at_bow is not Force.OFF:
            bow = axes[0] if problem.bow_first else axes[-1]
            ok &= bow < problem.levels - rules.deep_at_bow_levels


def given_whole(problem: DesignProblem, key: int) -> bool:
    """Whether all cuts of a key are given."""
    fixed = problem.fixed[key]
    return fixed is not None and all(f is not None for f in fixed)


def foreign_zones(problem: DesignProblem) -> list[NDArray[np.bool_]]:
    """Per foreign cylinder, an array positions x levels: may a cut of this level pass there?"""
    zones = []
    for stack in sorted(set(problem.avoid_stacks)):
        zone = np.zeros((problem.positions, problem.levels), dtype=bool)
        for p, splits in enumerate(stack):
            if not splits:
                zone[p] = True
            for split in splits:
                zone[p, max(0, split - problem.least_step + 1) : split + problem.least_step] = True
        zones.append(zone)
    return zones


def control_floor(problem: DesignProblem, key: int) -> tuple[int, ...]:
    """Shallowest cut of a key by position. Only the free cuts of a control key have a floor: with
    it even the deepest lock can be built up.
    """
    if key < problem.chart_keys or problem.control_low is None:
        return (0,) * problem.positions
    floor = max(0, problem.levels - 1 - problem.control_low)
    fixed = problem.fixed[key] or (None,) * problem.positions
    return tuple(floor if cut is None else 0 for cut in fixed)


def _along(values: NDArray[_Scalar], axes: tuple[int, ...], ndim: int) -> NDArray[_Scalar]:
    """An array spread along some axes of a larger one, by broadcasting."""
    shape = [1] * ndim
    for axis, size in zip(axes, values.shape, strict=True):
        shape[axis] = size
    return values.reshape(shape)


def _all(parts: Iterator[NDArray[np.bool_]]) -> NDArray[np.bool_]:
    result = next(parts)
    for part in parts:
        result = result & part
    return result
