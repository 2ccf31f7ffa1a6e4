"""Runs families of measurements: all of them, or those named."""

import argparse
import importlib
import inspect
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

HERE = Path(__file__).parent
RESULTS = HERE / "results"
PREFIX = "bench_"


def families(folder: Path = HERE) -> list[str]:
    """Names of the families in a folder, in alphabetical order."""
    return sorted(path.stem.removeprefix(PREFIX) for path in folder.glob(f"{PREFIX}*.py"))


def load(name: str) -> Callable[..., None]:
    """The `run` of one family: folder, whether quick, and, where it can run a part, ``only``."""
    module = importlib.import_module(f"bench.{PREFIX}{name}")
    run: Callable[..., None] = module.run
    return run


def is_asked(name: str) -> bool:
    """Whether a family runs without being named; those that take an hour do not."""
    return not getattr(importlib.import_module(f"bench.{PREFIX}{name}"), "ONLY_WHEN_NAMED", False)


def takes_part(name: str) -> bool:
    """Whether a family can run some of its cases."""
    return "only" in inspect.signature(load(name)).parameters


def main(arguments: Sequence[str] | None = None) -> int:
    """Run what was asked for; 0 when all of it ran, 2 when a name is unknown."""
    parser = argparse.ArgumentParser(prog="./dev bench", description=__doc__)
    parser.add_argument(
        "names", nargs="*", metavar="NAME", help="families; nearly all when none is named"
    )
    parser.add_argument("--quick", action="store_true", help="small sizes, to see that it runs")
    parser.add_argument("--list", action="store_true", help="only list the families")
    parser.add_argument("--out", type=Path, default=RESULTS, help="folder for the figures")
    parser.add_argument(
        "--only", default="", metavar="CASE,CASE", help="some cases of a family; the rest stay"
    )
    options = parser.parse_args(arguments)
    known = families()
    unknown = sorted(set(options.names) - set(known))
    if unknown:
        print(f"no such family: {', '.join(unknown)}; there are: {', '.join(known)}")
        return 2
    only = [case for case in options.only.split(",") if case]
    asked = options.names or [name for name in known if options.list or is_asked(name)]
    whole = [name for name in asked if only and not takes_part(name)]
    if whole:
        print(f"--only: no part can be run of {', '.join(whole)}")
        return 2
    for name in asked:
        if options.list:
            print(name)
            continue
        print(f"== {name}", flush=True)
        start = time.perf_counter()
        load(name)(options.out, options.quick, **({"only": only} if only else {}))
        print(f"== {name}: {time.perf_counter() - start:.1f} s", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
