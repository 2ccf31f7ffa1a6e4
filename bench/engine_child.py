"""`pinloom design` with a file for what the search did: the command itself tells no steps of a
design that was found.

    python -m bench.engine_child NOTES design CHART ...
"""

import json
import sys
from pathlib import Path
from time import perf_counter
from unittest.mock import patch

from pinloom import cli
from pinloom.core.request import DesignOutcome, DesignRequest, GaveUp
from pinloom.design import design
from pinloom.workflow.design import Progress


def main(notes: Path, arguments: list[str]) -> int:
    """Run the command; keep steps, seconds of the search and wrong openings left."""

    def watched(request: DesignRequest, progress: Progress | None = None) -> DesignOutcome:
        start = perf_counter()
        outcome = design(request, progress)
        told = {
            "search_s": round(perf_counter() - start, 2),
            "steps": outcome.steps,
            "wrong": len(outcome.wrong) if isinstance(outcome, GaveUp) else 0,
        }
        notes.write_text(json.dumps(told), encoding="utf-8")
        return outcome

    with patch("pinloom.workflow.design.design", watched):
        return cli.run(arguments)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), sys.argv[2:]))
