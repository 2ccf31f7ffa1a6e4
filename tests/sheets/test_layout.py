"""The layout on paper: the same lines as on the screen, in the bench's set alone."""

import io
import re
from dataclasses import replace
from importlib.resources import as_file, files
from pathlib import Path

import openpyxl
import pypdf
import pytest

from pinloom.core.job import Layout
from pinloom.core.layoutrows import layout_lines, next_lines
from pinloom.sheets import make
from pinloom.sheets.order import SheetOrder
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.sheets import order_for


@pytest.fixture(scope="module")
def order(tmp_path_factory: pytest.TempPathFactory) -> SheetOrder:
    """The example, designed."""
    with as_file(files("pinloom.workflow") / "alder_quay") as chart:
        job = design_job(
            DesignOrder(
                chart=ChartSource(path=chart / "doors.csv", keys=chart / "keys.csv"),
                hardware="us-6x10-014a",
                out=tmp_path_factory.mktemp("quay") / "job",
                budget=100,
            )
        ).job
    assert job is not None
    return order_for(job)


def _told(order: SheetOrder) -> Layout:
    assert order.job.layout is not None
    return order.job.layout


def _text(pdf: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in pages))


def test_below_the_bitting_list(order: SheetOrder) -> None:
    """Every group's next combinations, and every key that does not follow, stand on the page."""
    text = _text(make(order, ["bittings"])["bittings.pdf"])
    layout, made = _told(order), order.job.key_format
    assert "what keys carry under each master" in text
    combinations = [cut for line in next_lines(layout, made) for cut in line.unused]
    assert combinations
    assert all(cut in text for cut in combinations)
    assert all(name in text for name in layout.exceptions())


def test_not_in_the_owners_set(order: SheetOrder) -> None:
    """Combinations that are still free are as secret as cuts."""
    text = re.sub(r"\s+", "", _text(make(order)["owner.pdf"]))
    for line in next_lines(_told(order), order.job.key_format):
        assert not any(cut in text for cut in line.unused)


def test_in_the_workbook(order: SheetOrder, tmp_path: Path) -> None:
    """The table as a worksheet, line by line as on the screen."""
    (tmp_path / "cuts.xlsx").write_bytes(make(order, ["bittings"])["bittings.xlsx"])
    book = openpyxl.load_workbook(tmp_path / "cuts.xlsx")
    rows = [[cell or "" for cell in row] for row in book["layout"].iter_rows(values_only=True)]
    lines = [[line.name, *line.cells, line.keys] for line in layout_lines(order.job)]
    assert [[str(row[0]).strip(), *row[1:]] for row in rows[2:]] == lines


def test_none_without_one(order: SheetOrder) -> None:
    """A job without a layout has no such part."""
    bare = replace(order, job=replace(order.job, layout=None))
    assert "what keys carry" not in _text(make(bare, ["bittings"])["bittings.pdf"])
