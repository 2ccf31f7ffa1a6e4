"""The one place that knows the typesetter; run as a process: fonts and a document in, a PDF out.

Pages are tagged and made to PDF/UA-1 (ISO 14289-1), which the typesetter checks. Anything it warns
of is a bug here: fonts are chosen before, and texts are data.
"""

import json
import sys
import tempfile
from importlib.resources import files
from pathlib import Path

import typst

from pinloom.sheets.fonts import write_fonts

TIME = 946_684_800  # 1 January 2000: a clock would change the bytes


def set_pages(fonts: list[str], families: list[str], data: str) -> bytes:
    """The PDF of a document as ``pinloom.sheets.paper`` writes it."""
    source = files("pinloom.sheets").joinpath("paper.typ").read_bytes()
    with tempfile.TemporaryDirectory() as folder:
        write_fonts(fonts, Path(folder))
        found = typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder]
        )
        made, told = typst.compile_with_warnings(
            source,
            font_paths=found,
            sys_inputs={"data": data, "families": json.dumps(families)},
            pdf_standards="ua-1",
            timestamp=TIME,
        )
    if told:
        raise AssertionError(f"the typesetter warns: {[str(one) for one in told]}")
    assert isinstance(made, bytes)
    return made


if __name__ == "__main__":
    head = json.loads(sys.stdin.buffer.readline())
    text = sys.stdin.buffer.read().decode()
    sys.stdout.buffer.write(set_pages(head["fonts"], head["families"], text))
