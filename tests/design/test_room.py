"""What leaves room for keys outside the tree: crowding, reseating, plans, frames, the key tree."""

import random

import numpy as np
import pytest

from bench.charts import problem_chart
from pinloom.design.boxes import Board
from pinloom.design.crowding import NEAR, Crowding
from pinloom.design.frames import make_frame
from pinloom.design.inference import infer_tree
from pinloom.design.insertion import Inserter
from pinloom.design.layouts import PlanLayout, Shape, brothers_by_depth, largest_bundle, shape_of
from pinloom.design.plans import find_plans
from pinloom.design.problem import DesignProblem
from pinloom.design.repair import culprits
from pinloom.design.reseating import Reseating
from pinloom.design.rules import Legal
from pinloom.design.symbols import symbol_space
from tests.design.test_board import tiny_board
from tests.design.test_cutwise import problem_of


def _problem(name: str, seed: int, hardware: str) -> DesignProblem:
    return problem_of(problem_chart(name, seed), hardware)


def _leaves(shape: Shape) -> list[int]:
    if not shape.parts:
        return [len(shape.leaves)]
    return [n for part in shape.parts for n in _leaves(part)]


def _nearness(word: list[int], used: list[set[int]]) -> float:
    return NEAR ** sum(cut not in symbols for cut, symbols in zip(word, used, strict=True))


@pytest.mark.parametrize("least_step", [1, 2])
def test_crowding_is_what_counting_pair_by_pair_gives(least_step: int) -> None:
    """For random tiny boards: the crowding of points with the locks that are not the key's own, and
    of grown boxes with all keys.
    """
    for seed in range(8):
        board, rng = tiny_board(seed, least_step)
        crowding = Crowding(board)
        words = [board.symbols(int(point)).tolist() for point in board.point]
        boxes = [[{words[k][p] for k in row.tolist()} for p in range(3)] for row in board.rows]
        points = np.array(rng.sample(range(board.size), 5), dtype=np.int64)
        cuts = [board.symbols(int(point)).tolist() for point in points]
        own = np.array([0, 2], dtype=np.int64)
        others = [n for n in range(len(boxes)) if n not in (0, 2)]
        wanted = [sum(_nearness(c, boxes[n]) for n in others) for c in cuts]
        assert crowding.of_points(points, own).tolist() == wanted
        bits = np.int64(1) << np.array(cuts)
        grown = crowding.of_boxes(board.splits[own][None] | bits[:, None, :])
        for c, found in zip(cuts, grown.tolist(), strict=True):
            both = [[s | {cut} for s, cut in zip(boxes[n], c, strict=True)] for n in (0, 2)]
            assert found == sum(_nearness(word, used) for used in both for word in words)


def test_reseating_never_leaves_more_wrong_and_undoes_what_gained_nothing() -> None:
    """The tree of F3 with its cross keys put anywhere: reseating gains, says so, and the board is
    still what a board loaded afresh would be; where it says that it gained nothing, nothing moved.
    """
    problem = _problem("F3", 0, "us-6x10-015")
    tree, space, legal = infer_tree(problem), symbol_space(problem), Legal(problem)
    frame = make_frame(problem, space, legal, tree.root.key, seed=0)
    shape = shape_of(tree)
    sizes = [len(order) for order in frame.orders]
    plan = find_plans(sizes, brothers_by_depth(shape), largest_bundle(shape)).plans[0]
    placement = PlanLayout(frame, plan, tuple(range(6)), problem.splits_most).build(shape)
    assert placement is not None
    board, rng = Board(problem, space, legal), random.Random(3)
    board.load({key: frame.point(word) for key, word in placement.words.items()})
    inserter = Inserter(board, tree.own, rng, many=True)
    allowed = np.flatnonzero(board.veto(tree.others[0]) == 0).tolist()
    for key in tree.others:
        inserter.insert(key)
        board.move(key, rng.choice(allowed))
    before = board.wrong()
    assert len(culprits(board))
    reseating = Reseating(board, inserter, tree.others, rng)
    outcomes = set()
    for _ in range(6):
        points, start = board.point.copy(), board.wrong()
        gained = reseating.run(60)
        outcomes.add(gained)
        assert gained == (board.wrong() < start)
        if not gained:
            assert np.array_equal(points, board.point)
            break
    assert True in outcomes
    assert board.wrong() < before // 2
    fresh = Board(problem, space, legal)
    fresh.load(dict(enumerate(board.point.tolist())))
    assert np.array_equal(fresh.open, board.open)
    assert np.array_equal(fresh.keys, board.keys)


def test_the_first_plan_leaves_unused_symbols_in_most_chambers() -> None:
    """Eight areas of eight groups of 60 in seven chambers of four symbols besides the master's:
    3 x 3 blocks a level leave one symbol in each of four chambers, and of four symbols two at a
    time tell 6 keys apart; 4 x 2 blocks leave two in two chambers, for 4 keys.
    """
    search = find_plans([4] * 7, (8, 8), 60)
    blocks = [sorted(cut.blocks for cut in level) for level in search.plans[0].levels]
    assert blocks == [[3, 3], [3, 3]]
    assert search.plans[0].strangers == 6
    other = next(p for p in search.plans if {c.blocks for c in p.levels[0]} == {4, 2} and not p.fat)
    assert search.plans.index(other) > 0
    assert other.strangers < 6


def test_a_layout_keeps_to_the_symbols_of_its_plan() -> None:
    """The group masters of F6 use three symbols besides the top master's in every chamber of the
    areas and of the groups, though four would be there.
    """
    problem = _problem("F6", 0, "ic-7x10-0125")
    tree, space, legal = infer_tree(problem), symbol_space(problem), Legal(problem)
    frame = make_frame(problem, space, legal, tree.root.key, seed=0)
    shape = shape_of(tree)
    plan = find_plans([4] * 7, (8, 8), 60).plans[0]
    placement = PlanLayout(frame, plan, tuple(range(7)), problem.splits_most).build(shape)
    assert placement is not None
    masters = [placement.words[part.key] for area in shape.parts for part in area.parts if part.key]
    used = [len({word[p] for word in masters} - {frame.centre[p]}) for p in range(7)]
    assert used == [3, 3, 3, 3, 0, 0, 0]


def test_the_top_master_keeps_the_rules_where_the_middle_breaks_one() -> None:
    """Seven levels, one step: the middle of every chamber would be one cut seven times over, which
    a rule forbids. The top master has another cut somewhere, and every key of the tree its word.
    """
    problem = _problem("F4", 0, "ic-7x7-018")
    tree, space, legal = infer_tree(problem), symbol_space(problem, 5), Legal(problem)
    top = tree.root.key
    assert top is not None
    middle = (3,) * 7
    assert legal.breaks(top, middle)
    for extreme in (False, True):
        frame = make_frame(problem, space, legal, top, seed=0, extreme=extreme)
        cuts = tuple(space.levels[p][s] for p, s in enumerate(frame.centre))
        assert not legal.breaks(top, cuts)


def test_a_cleaner_with_a_smaller_key_inside_is_no_master() -> None:
    """In four charts of 4 x 5 groups of 40 with 100 keys over neighbouring doors, some of them
    inside others, all groups are read as groups and nothing else is.
    """
    for seed in range(4):
        problem = _problem("R3", seed, "us-6x10-015")
        assert _leaves(shape_of(infer_tree(problem))) == [40] * 20


def test_a_large_group_without_a_master_is_not_the_top_master() -> None:
    """A group of 400 doors that only its shared door shows, with 130 doors beside it, is a part of
    its own.
    """
    problem = _problem("V1", 0, "us-6x10-015")
    assert max(_leaves(shape_of(infer_tree(problem)))) == 400
