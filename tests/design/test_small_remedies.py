"""What would help on a small chart: the cheap changes are found though most others fail."""

from pinloom.core.request import ProvedImpossible
from pinloom.design import design
from tests.oracle.brute import Tiny, TinyLock
from tests.oracle.charts import request_of
from tests.oracle.plain import solve_plain

# Invented: eight doors and seven keys for two chambers of four depths with two master pins each.
OPENERS = ("025", "1246", "016", "1256", "0124", "012346", "1456", "12356")


def task_of(openers: tuple[str, ...]) -> Tiny:
    """The keys of each door in one word."""
    return Tiny(
        positions=2,
        levels=4,
        macs=3,
        least_step=1,
        pins=frozenset({1, 2, 3}),
        most_masters=2,
        keys=7,
        locks=tuple(TinyLock(openers=tuple(map(int, keys)), active=(0, 1)) for keys in openers),
    )


def test_the_one_door_that_helps_is_found() -> None:
    """By the second encoding no door but d5 helps when it leaves the system; it is told, and so are
    single marks on it.
    """
    helps = [
        f"d{number}"
        for number in range(len(OPENERS))
        if solve_plain(task_of(OPENERS[:number] + OPENERS[number + 1 :])) is not None
    ]
    assert helps == ["d5"]
    outcome = design(request_of(task_of(OPENERS)))
    assert isinstance(outcome, ProvedImpossible)
    told = [(one.change, dict(one.values)) for one in outcome.remedies]
    assert ("remedy-single-key-door", {"door": "d5"}) in told
    marks = [values for change, values in told if change == "remedy-drop-mark"]
    assert marks
    assert {values["door"] for values in marks} == {"d5"}
