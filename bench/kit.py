"""What every family of measurements needs: a stop watch, and a file to keep the figures in."""

import json
import os
import platform
import statistics
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TypeVar

Record = Mapping[str, str | int | float | bool | None]

T = TypeVar("T")

#: libraries whose versions move the figures
_LIBRARIES = ("numba", "numpy", "python-sat")


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """Wall-clock seconds of repeated calls."""

    seconds: tuple[float, ...]

    @property
    def best(self) -> float:
        """The fastest call, the one least disturbed by the rest of the machine."""
        return min(self.seconds)

    @property
    def median(self) -> float:
        """The call in the middle."""
        return statistics.median(self.seconds)


def timed(call: Callable[[], T]) -> tuple[T, float]:
    """The result of one call and its seconds."""
    start = time.perf_counter()
    result = call()
    return result, time.perf_counter() - start


def repeated(call: Callable[[], object], times: int) -> Timing:
    """Time a call several times; its results are dropped."""
    return Timing(seconds=tuple(timed(call)[1] for _ in range(times)))


def machine() -> dict[str, str | int]:
    """What the figures depend on; nothing that tells whose machine it is."""
    return {
        "python": platform.python_version(),
        "processor": _processor(),
        "cores": os.cpu_count() or 0,
        **{name: version(name) for name in _LIBRARIES},
    }


def keep(out_dir: Path, family: str, records: Sequence[Record], *, quick: bool) -> Path:
    """Write the records of one family, with the machine they were made on; gives the file."""
    out_dir.mkdir(parents=True, exist_ok=True)
    path = out_dir / f"{family}{'-quick' if quick else ''}.json"
    whole = {"family": family, "quick": quick, "machine": machine(), "records": list(records)}
    path.write_text(json.dumps(whole, indent=1, sort_keys=True) + "\n", encoding="utf-8")
    return path


def kept(path: Path) -> list[Record]:
    """The records of a file of figures; none where there is no file."""
    if not path.exists():
        return []
    records: list[Record] = json.loads(path.read_text(encoding="utf-8"))["records"]
    return records


#: what tells one record of a family from the others, where its records can be measured one by one
_IDENTITY = ("chart", "hardware", "form", "seed", "way")


def keep_some(out_dir: Path, family: str, records: Sequence[Record], *, quick: bool) -> Path:
    """Keep records beside those kept before; a record of the same case is replaced."""
    path = out_dir / f"{family}{'-quick' if quick else ''}.json"
    every = (*kept(path), *records)
    by_case = {tuple(str(record.get(name)) for name in _IDENTITY): record for record in every}
    return keep(out_dir, family, list(by_case.values()), quick=quick)


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.machine()
    return next((ln.split(":", 1)[1].strip() for ln in lines if ln.startswith("model name")), "")
