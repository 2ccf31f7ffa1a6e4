"""The engine's bench: processes end at their limits, and tables are made of figures alone."""

import time
from pathlib import Path

import pytest

from bench import kit
from bench.bench_engine import ratio
from bench.charts import TOP, uniform
from bench.engine_cases import CASES, ONE_STEP, TWO_STEP, chosen
from bench.engine_infer import found_parents, problem_of, true_parents
from bench.engine_table import BEGIN, END, best_of, page_with, table
from bench.kit import Record
from bench.processes import Limit, process, surroundings
from pinloom.design.inference import infer_tree
from tests.oracle.charts import tiny_format

OURS: Record = {
    "chart": "F1",
    "hardware": TWO_STEP,
    "form": "matrix",
    "seed": 0,
    "doors": 360,
    "keys": 376,
    "verdict": "designed",
    "seconds": 2.0,
    "processor_s": 1.5,
    "reach_s": 1,
    "megabytes": 61,
    "direct": "ended at 75 processor s",
    "direct_ended": True,
    "direct_s": 80.0,
    "direct_processor_s": 75.0,
    "direct_megabytes": 1900,
}
LONG: Record = {
    "chart": "F1",
    "hardware": TWO_STEP,
    "form": "matrix",
    "seed": 0,
    "way": "direct",
    "direct": "designed",
    "direct_ended": False,
    "direct_s": 300.0,
    "direct_processor_s": 120.0,
    "direct_megabytes": 1900,
}


@pytest.mark.parametrize(
    ("code", "limit", "reason"),
    [
        ("while True: pass", Limit(seconds=30, processor=1), "1 processor s"),
        ("import time; time.sleep(30)", Limit(seconds=0.2), "0.2 s"),
        ("x = bytearray(200_000_000)\nwhile True: pass", Limit(seconds=30, megabytes=90), "90 MB"),
        ("print('done')", Limit(seconds=30, processor=5, megabytes=500), ""),
    ],
)
def test_a_process_ends_at_its_limit(tmp_path: Path, code: str, limit: Limit, reason: str) -> None:
    """Processor seconds, wall seconds and memory each end a process and are named; none of them
    touches one that stays within.
    """
    start = time.perf_counter()
    done = process(["-c", code], tmp_path, limit, surroundings(tmp_path))
    assert done.limit == reason
    assert (done.code is None) is bool(reason)
    assert time.perf_counter() - start < 20
    assert done.said == ("" if reason else "done\n")


def test_the_ratio_is_of_processor_seconds_and_needs_a_verdict() -> None:
    """75 s by 1.5 s are 50 times, 80 s by 2 s of wall clock 40; without a verdict there is none."""
    assert ratio("direct", OURS) == {"direct_ratio": 50.0, "direct_wall_ratio": 40.0}
    assert ratio("direct", {**OURS, "verdict": "gave up"}) == {}


def test_the_long_run_counts_where_the_same_run_was_ended() -> None:
    """Figures of the same run come first, unless it was ended there before the long run was."""
    assert best_of("direct", OURS, []) == (OURS, False)
    assert best_of("direct", OURS, [LONG]) == (LONG, True)
    assert best_of("direct", {**OURS, "direct_ended": False}, [LONG])[1] is False
    assert best_of("cpsat", OURS, [LONG]) == (None, False)
    assert best_of("direct", {**OURS, "hardware": ONE_STEP}, [LONG])[1] is False


def test_the_tables_hold_the_figures() -> None:
    """A lower bound says so, a figure of another run bears a star, seeds stand side by side."""
    second = {**OURS, "seed": 1, "seconds": 0.9, "processor_s": 0.5}
    text = table([OURS, second], [])
    assert "2 of 2 designed | 2.0 / 0.9 | 1.5 / 0.5 | - | - | 61 | 1 | 1 of 2 |" in text
    assert "over 75.0 | 1,900 | over 50.0 / 40.0 | - |" in text
    assert "designed\\* | 120.0 | 1,900 | 80.0 | - |" in table([OURS], [LONG])


def test_only_the_text_between_the_marks_is_replaced() -> None:
    """What people wrote around the tables stays; making them twice changes nothing."""
    page = f"# Title\n\n{BEGIN}\nold\n{END}\n\nProse.\n"
    made = page_with(page, "new")
    assert made == f"# Title\n\n{BEGIN}\n\nnew\n\n{END}\n\nProse.\n"
    assert page_with(made, "new") == made
    assert page_with("no marks", "new") == "new\n"


def test_a_part_of_a_run_replaces_only_its_own_figures(tmp_path: Path) -> None:
    """A chart that is measured again replaces its record; another format or seed is another."""
    kit.keep(tmp_path, "probe", [OURS, {**OURS, "seed": 1}], quick=False)
    kit.keep_some(tmp_path, "probe", [{**OURS, "seconds": 9.0}], quick=False)
    kit.keep_some(tmp_path, "probe", [{**OURS, "hardware": ONE_STEP}], quick=False)
    kept = kit.kept(tmp_path / "probe.json")
    assert [(r["seed"], r["hardware"], r["seconds"]) for r in kept] == [
        (0, TWO_STEP, 9.0),
        (1, TWO_STEP, 2.0),
        (0, ONE_STEP, 2.0),
    ]


def test_every_family_has_one_step_and_two_step_cuts() -> None:
    """The families that the bench is made of, each on formats of both kinds."""
    one_step = {ONE_STEP, "ic-7x7-018"}
    kinds: dict[str, set[bool]] = {}
    for case in CASES:
        kinds.setdefault(case.family, set()).add(case.hardware in one_step)
    assert {
        "trees",
        "uneven trees",
        "shared doors",
        "a door of every group",
        "neighbouring doors",
        "scattered keys",
        "dense",
        "just too many",
    } <= {family for family, both in kinds.items() if both == {True, False}}


def test_a_wrong_name_of_a_case_is_refused() -> None:
    """A part of a run is chosen by charts; a wrong name ends it with the right ones."""
    assert chosen(CASES, []) == list(CASES)
    assert {case.hardware for case in chosen(CASES, ["F3"])} == {TWO_STEP, ONE_STEP}
    with pytest.raises(SystemExit, match="no such case: F99; there are: T2x2x5"):
        chosen(CASES, ["F3", "F99"])


def test_the_structure_of_a_tree_is_compared_with_the_truth() -> None:
    """Of 3 x 4 x 5 all 75 keys below the top master have a parent, and the found ones are those."""
    sketch = uniform(3, 4, 5)
    chart, (names, _) = sketch.chart(), sketch.names()
    true = true_parents(sketch)
    assert len(true) == 60 + 12 + 3
    assert true["master", 2, 1] == ("master", 2)
    assert true["master", 2] == TOP
    number = {key.name: i for i, key in enumerate(chart.keys)}
    found = found_parents(infer_tree(problem_of(chart, tiny_format(6, 10))))
    assert found == {number[names[k]]: number[names[above]] for k, above in true.items()}
