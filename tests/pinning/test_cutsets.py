"""Sets of cuts by one number a key, and answers kept by kinds of stacks."""

import random
from dataclasses import replace

from pinloom.core.hardware import HardwareFormat
from pinloom.core.stacks import PerStack, PinStack
from pinloom.hardware import load_format
from pinloom.pinning.cutsets import CutSets


def test_the_levels_of_a_door_are_those_of_its_keys() -> None:
    """Position by position, ascending, for any keys and any order of positions."""
    rng = random.Random(1)
    for _ in range(50):
        chambers, levels = rng.randint(1, 7), rng.randint(1, 12)
        words = [tuple(rng.randrange(levels) for _ in range(chambers)) for _ in range(20)]
        sets = CutSets(words)
        keys = rng.sample(range(20), rng.randint(1, 6))
        positions = rng.sample(range(chambers), chambers)
        found = [sets.levels(bits) for bits in sets.at(sets.of(keys), positions)]
        assert found == [tuple(sorted({words[k][p] for k in keys})) for p in positions]


def test_equal_stacks_are_worked_out_once() -> None:
    """By value, whether or not they are the same record; per chamber and format."""
    made = load_format("us-5x6-023").format
    assert made is not None
    asked: list[tuple[str, int, PinStack]] = []

    def work(of: HardwareFormat, chamber: int, stack: PinStack) -> int:
        asked.append((of.name, chamber, stack))
        return len(asked)

    answers = PerStack(work)
    stacks = [PinStack(bottom=1, masters=(2,)) for _ in range(3)]
    assert [answers.of(made, 0, stack) for stack in stacks] == [1, 1, 1]
    assert answers.of(made, 1, stacks[0]) == 2
    assert answers.of(replace(made, name="other"), 0, stacks[0]) == 3
    assert answers.of(made, 0, PinStack(bottom=2)) == 4
    assert len(asked) == 4
