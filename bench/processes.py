"""A process of its own for every measurement: its seconds, processor seconds and peak memory."""

import os
import resource
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[1]
LOOKS = 0.02  # seconds between two looks at a process


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What ends a process: wall seconds, processor seconds, megabytes. None = no limit."""

    seconds: float
    processor: int | None = None
    megabytes: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """How a process ended. ``code`` is None when it was ended at a limit, which ``limit`` names."""

    code: int | None
    limit: str = ""
    seconds: float
    processor: float
    megabytes: int
    said: str


def surroundings(bytecode: Path) -> dict[str, str]:
    """The environment of a case: this one, with bytecode kept in a folder of its own."""
    kept = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    road = os.pathsep.join(filter(None, (str(ROOT), kept.get("PYTHONPATH", ""))))
    return {**kept, "PYTHONPATH": road, "PYTHONPYCACHEPREFIX": str(bytecode)}


def process(arguments: Sequence[str], folder: Path, limit: Limit, env: dict[str, str]) -> Ended:
    """Run Python with these arguments and take its own time and memory, not its brothers'.

    The kernel counts the processor seconds of all its threads.
    """
    start = time.perf_counter()
    with (folder / "said").open("w+", encoding="utf-8") as said:
        child = subprocess.Popen(
            [sys.executable, *arguments],
            cwd=folder,
            stdout=said,
            stderr=subprocess.DEVNULL,
            env=env,
        )
        if limit.processor is not None:
            resource.prlimit(child.pid, resource.RLIMIT_CPU, (limit.processor, limit.processor))
        reason = ""
        while True:
            done, status, used = os.wait4(child.pid, os.WNOHANG)
            if done:
                break
            if not reason:
                reason = _beyond(child.pid, time.perf_counter() - start, limit)
                if reason:
                    child.kill()
            time.sleep(LOOKS)
        child.returncode = os.waitstatus_to_exitcode(status)
        seconds = time.perf_counter() - start
        processor = used.ru_utime + used.ru_stime
        if not reason and _spent(child.returncode, processor, limit):
            reason = f"{limit.processor} processor s"
        said.seek(0)
        return Ended(
            code=None if reason else child.returncode,
            limit=reason,
            seconds=round(seconds, 2),
            processor=round(processor, 2),
            megabytes=used.ru_maxrss // 1024,
            said=said.read(),
        )


def _spent(code: int, processor: float, limit: Limit) -> bool:
    """Whether the kernel ended it at its processor seconds; its two counts differ a little."""
    if limit.processor is None or code not in (-signal.SIGKILL, -signal.SIGXCPU):
        return False
    return processor > 0.9 * limit.processor - 1


def _beyond(process_id: int, seconds: float, limit: Limit) -> str:
    """The limit that a running process has passed, in words; "" for none."""
    if seconds > limit.seconds:
        return f"{limit.seconds:g} s"
    if limit.megabytes is not None and _megabytes(process_id) > limit.megabytes:
        return f"{limit.megabytes:,} MB"
    return ""


def _megabytes(process_id: int) -> int:
    """Memory of a running process now; 0 where the system does not tell."""
    try:
        pages = int(Path(f"/proc/{process_id}/statm").read_text(encoding="ascii").split()[1])
    except (OSError, IndexError, ValueError):
        return 0
    return pages * resource.getpagesize() // 2**20
