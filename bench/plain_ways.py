"""The two plain ways to a key system, each a process: clauses alone, and a constraint program."""

import json
from importlib.util import find_spec
from pathlib import Path

from bench.engine_cases import Case
from bench.processes import Limit, process

Figures = dict[str, str | int | float | bool | None]

#: name in the figures -> module that runs it, library that it needs, megabytes given to it: each of
#: the eight workers of the constraint program keeps a copy
WAYS = {
    "direct": ("bench.direct", "pysat", 12_000),
    "cpsat": ("bench.cpsat", "ortools", 6_000),
}
WAITING = 15  # wall seconds given for each processor second, on a machine that others use


def plain(way: str, case: Case, limit: int, folder: Path, env: dict[str, str]) -> Figures:
    """One way on the first seed of a case, ended after ``limit`` processor seconds."""
    module, library, megabytes = WAYS[way]
    if find_spec(library) is None:
        return {way: "not installed"}
    arguments = ["-m", module, case.chart, "0", case.hardware]
    most = Limit(seconds=limit * WAITING, processor=limit, megabytes=megabytes)
    done = process(arguments, folder, most, env)
    told = json.loads(done.said) if done.code == 0 else {}
    verdict = told.get("verdict", f"ended at {done.limit}" if done.limit else f"exit {done.code}")
    return {
        way: verdict,
        f"{way}_ended": done.code is None,
        f"{way}_wrong": told.get("wrong"),
        f"{way}_size": told.get("size"),
        f"{way}_s": done.seconds,
        f"{way}_processor_s": done.processor,
        f"{way}_megabytes": done.megabytes,
    }
