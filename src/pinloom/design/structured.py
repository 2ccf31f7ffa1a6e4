"""The constructive engine: structure first, then exact insertion, then repair.

    marks -> key tree -> layouts -> cross keys one by one -> repair

Several layouts are tried: by plan where the tree is even enough, else by unequal splits, with the
top master in the middle of the depths or on the extreme, in several orders of chambers, with few
symbols a position and then with more. Each gets a share of the budget; shares grow. All of it is a
search: what it does not find is never called impossible.

Steps count keys scored over all bittings (see ``repair``). The same problem, seed and budget give
the same result.
"""

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from pinloom.core.bitting import Bitting
from pinloom.core.job import Layout
from pinloom.design.boxes import UNPLACED, Board
from pinloom.design.frames import make_frame
from pinloom.design.inference import KeyTree, infer_tree
from pinloom.design.insertion import Inserter
from pinloom.design.layouts import (
    Placement,
    PlanLayout,
    Shape,
    brothers_by_depth,
    largest_bundle,
    shape_of,
)
from pinloom.design.plans import find_plans
from pinloom.design.problem import DesignProblem
from pinloom.design.regions import Frame
from pinloom.design.repair import Repair
from pinloom.design.rules import Legal, given_whole
from pinloom.design.splits import Packer, SplitLayout, could_fit
from pinloom.design.symbols import SymbolSpace, symbol_counts, symbol_space

Progress = Callable[[str], None]

FIRST_SHARE = 3_000
PLANS_TRIED = 12
ORDERS_TRIED = 8
SPLIT_ORDERS = 4
SLACKS = (0.0, 0.3, 0.7)


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLimits:
    """What the layouts can hold, for words to a person. A layout's limit is no proof.

    ``brothers`` = most parts of one master by depth, ``asked`` = change keys of the largest group,
    ``holds`` = most that any plan of the whole space holds in every group, by count;
    ``flat_holds`` = the same without middle masters.
    """

    brothers: tuple[int, ...]
    asked: int
    holds: int
    flat_holds: int
    masters: int
    laid_out: bool  # whether the whole tree was placed


@dataclass(frozen=True, slots=True, kw_only=True)
class StructuredResult:
    """``bittings`` is None unless nothing is wrong. ``best`` = the nearest design seen, ``wrong``
    its
    (key, lock) pairs that open and shall not. ``steps`` counts keys scored over all bittings.
    """

    bittings: tuple[Bitting, ...] | None
    best: tuple[Bitting, ...] | None
    wrong: tuple[tuple[int, int], ...]
    steps: int
    layout: Layout | None
    limits: PlanLimits


def solve_structured(
    problem: DesignProblem,
    *,
    seed: int = 0,
    budget: int = 20_000,
    progress: Progress | None = None,
) -> StructuredResult:
    """Search a design by structure and repair, in at most about ``budget`` steps."""
    return _Search(problem, seed, budget, progress).run()


@dataclass(slots=True)
class _Start:
    """A symbol space with a tree laid out in it, or without any."""

    space: SymbolSpace
    placement: Placement | None
    frame: Frame


@dataclass(slots=True)
class _Best:
    wrong: int = -1
    bittings: tuple[Bitting, ...] | None = None
    pairs: tuple[tuple[int, int], ...] = ()
    layout: Layout | None = None


@dataclass(slots=True)
class _Run:
    """One layout under repair; picked up again with a larger share."""

    start: _Start
    repair: Repair
    board: Board = field(repr=False)


class _Search:
    def __init__(
        self, problem: DesignProblem, seed: int, budget: int, progress: Progress | None
    ) -> None:
        self._problem, self._seed, self._budget = problem, seed, budget
        self._progress = progress
        self._legal = Legal(problem)
        self._tree: KeyTree = infer_tree(problem)
        self._shape: Shape = shape_of(self._tree)
        self._steps = 0
        self._best = _Best()

    def run(self) -> StructuredResult:
        """Start layouts one after the other, each twice the share of the round before."""
        runs: list[_Run] = []
        share = FIRST_SHARE
        starts = self._starts()
        while True:
            start = next(starts, None)
            if start is not None:
                self._say("laying out the key tree")
                runs.append(self._begin(start))
            elif not runs:
                break
            for run in [runs[-1]] if start is not None else runs:
                self._continue(run, share)
                if self._best.wrong == 0 or self._steps >= self._budget:
                    return self._result()
            if start is None:
                share *= 2
        return self._result()

    # --- layouts ---------------------------------------------------------------------------

    def _starts(self) -> Iterator[_Start]:
        """Layouts worth trying, most promising first; at least one start without a layout."""
        found = False
        top = self._shape.key
        for extreme in (False, True):
            for count in symbol_counts(self._problem):
                space = symbol_space(self._problem, count)
                frame = make_frame(
                    self._problem, space, self._legal, top, seed=self._seed, extreme=extreme
                )
                placement = self._lay_out(frame)
                if placement is not None:
                    found = True
                    yield _Start(space, placement, frame)
            if found:
                return
        for count in symbol_counts(self._problem):
            space = symbol_space(self._problem, count)
            frame = make_frame(self._problem, space, self._legal, top, seed=self._seed)
            yield _Start(space, None, frame)

    def _lay_out(self, frame: Frame) -> Placement | None:
        if self._shape.size() < 2:
            return None
        return self._by_plan(frame) or self._by_splits(frame)

    def _by_plan(self, frame: Frame) -> Placement | None:
        sizes = [len(order) for order in frame.orders]
        search = find_plans(sizes, brothers_by_depth(self._shape), largest_bundle(self._shape))
        for plan in search.plans[:PLANS_TRIED]:
            for places in self._orders(ORDERS_TRIED):
                layout = PlanLayout(frame, plan, places, self._problem.splits_most)
                placement = layout.build(self._shape)
                if placement is not None:
                    return placement
        return None

    def _by_splits(self, frame: Frame) -> Placement | None:
        if not could_fit(frame, self._shape):
            return None
        positions = self._problem.positions
        for chambers in range(min(3, positions), positions + 1):
            for slack in SLACKS:
                packer = Packer(slack)
                for places in self._orders(SPLIT_ORDERS):
                    layout = SplitLayout(frame, packer, places, self._problem.splits_most)
                    placement = layout.build(self._shape, chambers)
                    if placement is not None:
                        return placement
        return None

    def _orders(self, count: int) -> Iterator[tuple[int, ...]]:
        rng = random.Random(f"orders {self._seed}")  # noqa: S311 (a search, no secret)
        places = list(range(self._problem.positions))
        for number in range(count):
            if number:
                rng.shuffle(places)
            yield tuple(places)

    # --- search ----------------------------------------------------------------------------

    def _begin(self, start: _Start) -> _Run:
        problem = self._problem
        board = Board(problem, start.space, self._legal)
        rng = random.Random(f"search {self._seed}")  # noqa: S311 (a search, no secret)
        points: dict[int, int] = {}
        for key in range(problem.keys):
            fixed = problem.fixed[key]
            if fixed is not None and given_whole(problem, key):
                point = start.space.point_of([level for level in fixed if level is not None])
                assert point is not None, "given levels are symbols"
                points[key] = point
        for key, word in (start.placement.words if start.placement else {}).items():
            point = start.frame.point(word)
            if key not in points and board.veto(key)[point] == 0:
                points[key] = point
        board.load(points)
        inserter = Inserter(board, self._tree.own, rng)
        rest = [k for k in range(problem.keys) if board.point[k] == UNPLACED]
        rest.sort(key=lambda k: (-len(board.own[k]), k))
        for key in rest:
            inserter.insert(key)
            self._steps += 1
        return _Run(start=start, repair=Repair(board, rng), board=board)

    def _continue(self, run: _Run, share: int) -> None:
        before = run.repair.steps
        run.repair.run(min(share, self._budget - self._steps), self._progress)
        self._steps += run.repair.steps - before
        wrong = run.repair.best_wrong
        if self._best.wrong < 0 or wrong < self._best.wrong:
            self._best = _Best(
                wrong=wrong,
                bittings=run.board.bittings(),
                pairs=tuple(
                    (int(key), int(lock))
                    for key in (run.board.excess() > 0).nonzero()[0]
                    for lock in run.board.wrongly_opened(int(key))
                ),
                layout=run.start.placement.layout if run.start.placement else None,
            )

    def _say(self, text: str) -> None:
        if self._progress is not None:
            self._progress(text)

    def _result(self) -> StructuredResult:
        best = self._best
        return StructuredResult(
            bittings=best.bittings if best.wrong == 0 else None,
            best=best.bittings,
            wrong=best.pairs,
            steps=self._steps,
            layout=best.layout,
            limits=self._limits(),
        )

    def _limits(self) -> PlanLimits:
        space = symbol_space(self._problem)
        sizes = [sum(flags) - 1 for flags in space.regular]
        brothers = brothers_by_depth(self._shape)
        asked = largest_bundle(self._shape)
        bundles = len(list(_bundles(self._shape)))
        return PlanLimits(
            brothers=brothers,
            asked=asked,
            holds=find_plans(sizes, brothers, asked).holds_most,
            flat_holds=find_plans(sizes, (bundles,) if bundles > 1 else (), asked).holds_most,
            masters=sum(1 for node in self._tree.root.walk() if node.key is not None),
            laid_out=self._best.layout is not None,
        )


def _bundles(shape: Shape) -> Iterator[Shape]:
    if not shape.parts:
        yield shape
    for part in shape.parts:
        yield from _bundles(part)
