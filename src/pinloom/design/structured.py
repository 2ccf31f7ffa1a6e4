"""The constructive engine: structure first, then exact insertion, then repair.

    marks -> key tree -> layouts -> cross keys one by one -> repair

Several layouts are tried: by plan where the tree is even enough, else by unequal splits, with the
top master in the middle of the depths or on the extreme, in several orders of chambers, with few
symbols a position and then with more. They run heats, and the best go on. When few openings are
wrong, cross keys are also taken out and inserted anew (``reseating``). All of it is a search: what
it does not find is never called impossible.

Steps count keys scored over all bittings (see ``repair``). The same problem, seed and budget give
the same result.
"""

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import islice

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
from pinloom.design.reseating import Reseating
from pinloom.design.rules import Legal, given_whole
from pinloom.design.splits import Packer, SplitLayout, could_fit
from pinloom.design.symbols import SymbolSpace, symbol_counts, symbol_space

Progress = Callable[[str], None]

GLANCE = 1_000  # steps of a heat
FIRST_SHARE = 3_000
PROMISING = 25  # wrong openings after a heat with which a start goes on at once
HEATS = 3  # starts compared
BRIEF = 150  # steps of repair before cross keys are reseated
A_FEW = 4  # keys outside the tree that need no care for each other
FEW = 40  # wrong openings up to which they are
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
    reseating: Reseating
    board: Board = field(repr=False)
    rng: random.Random = field(repr=False)
    stalls: int = 0  # shares that gained nothing
    settled: int = -1  # wrong openings with which reseating gained nothing


class _Search:
    def __init__(
        self, problem: DesignProblem, seed: int, budget: int, progress: Progress | None
    ) -> None:
        self._problem, self._seed, self._budget = problem, seed, budget
        self._progress = progress
        self._legal = Legal(problem)
        self._tree: KeyTree = infer_tree(problem)
        self._shape: Shape = shape_of(self._tree)
        self._frames: dict[tuple[int, bool], Frame] = {}
        self._steps = 0
        self._best = _Best()

    def run(self) -> StructuredResult:
        """The first start alone, as long as it looks well; then heats of several; then the best."""
        starts = self._starts()
        runs = [self._begin(next(starts))]
        self._continue(runs[0], GLANCE)
        if self._best.wrong <= PROMISING:
            self._continue(runs[0], FIRST_SHARE)
        for start in islice(starts, HEATS - 1):
            if self._over():
                return self._result()
            runs.append(self._begin(start))
            self._continue(runs[-1], GLANCE)
        while not self._over():
            run = min(runs, key=lambda run: (run.stalls, run.repair.best_wrong))
            before = run.repair.best_wrong
            self._continue(run, FIRST_SHARE)
            run.stalls += run.repair.best_wrong == before
        return self._result()

    def _over(self) -> bool:
        return self._best.wrong == 0 or self._steps >= self._budget

    # --- layouts ---------------------------------------------------------------------------

    def _starts(self) -> Iterator[_Start]:
        """Layouts worth trying, most promising first; at least one start without a layout.

        Few symbols and a master in the middle come first; then the second choice of each: another
        plan leaves other symbols to the keys outside the tree, and a master on the extreme leaves
        them more words that MACS allows.
        """
        counts = symbol_counts(self._problem)
        first = [(False, counts[0], 0), *((False, count, 0) for count in counts[1:2])]
        later = [(True, counts[0], 1), (True, counts[0], 0), (False, counts[0], 1)]
        more = [(True, count, 0) for count in counts[1:]]
        more += [(False, count, 0) for count in counts[2:]]
        found = False
        for extreme, count, choice in (*first, *later, *more):
            frame = self._frame(count, extreme=extreme)
            placement = self._lay_out(frame, choice)
            if placement is not None:
                found = True
                self._say("laying out the key tree")
                yield _Start(frame.space, placement, frame)
        if not found:
            for count in counts:
                frame = self._frame(count)
                yield _Start(frame.space, None, frame)

    def _frame(self, count: int, *, extreme: bool = False) -> Frame:
        found = self._frames.get((count, extreme))
        if found is None:
            space = symbol_space(self._problem, count)
            found = make_frame(
                self._problem,
                space,
                self._legal,
                self._shape.key,
                seed=self._seed,
                extreme=extreme,
            )
            self._frames[count, extreme] = found
        return found

    def _lay_out(self, frame: Frame, choice: int) -> Placement | None:
        """The tree in a frame, by the first plan that works or by a later ``choice``."""
        if self._shape.size() < 2:
            return None
        return self._by_plan(frame, choice) or (None if choice else self._by_splits(frame))

    def _by_plan(self, frame: Frame, choice: int) -> Placement | None:
        sizes = [len(order) for order in frame.orders]
        search = find_plans(sizes, brothers_by_depth(self._shape), largest_bundle(self._shape))
        for plan in search.plans[choice:PLANS_TRIED]:
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
        rest = [k for k in range(problem.keys) if board.point[k] == UNPLACED]
        inserter = Inserter(board, self._tree.own, rng, many=len(rest) > A_FEW)
        rest.sort(key=lambda k: (-len(board.own[k]), k))
        for key in rest:
            inserter.insert(key)
            self._steps += 1
        return _Run(
            start=start,
            repair=Repair(board, rng),
            reseating=Reseating(board, inserter, rest, rng),
            board=board,
            rng=rng,
        )

    def _continue(self, run: _Run, share: int) -> None:
        """Repair for a share of the budget; reseat cross keys when few openings are wrong."""
        if self._over():
            return
        self._repair(run, BRIEF)
        if 0 < run.repair.best_wrong <= FEW and run.repair.best_wrong != run.settled:
            self._reseat(run, share // 2)
        self._repair(run, share)

    def _repair(self, run: _Run, share: int) -> None:
        before = run.repair.steps
        run.repair.run(min(share, max(0, self._budget - self._steps)), self._progress)
        self._steps += run.repair.steps - before
        self._note(run)

    def _reseat(self, run: _Run, share: int) -> None:
        """Where reseating gains nothing, repair goes on where it was."""
        before = run.reseating.steps
        if run.reseating.run(min(share, max(0, self._budget - self._steps))):
            run.repair = Repair(run.board, run.rng)
        else:
            run.settled = run.repair.best_wrong
        self._steps += run.reseating.steps - before
        self._note(run)

    def _note(self, run: _Run) -> None:
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
