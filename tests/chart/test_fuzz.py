"""Whatever stands in a file, reading answers with findings."""

from pathlib import Path

from hypothesis import HealthCheck, event, given, settings
from hypothesis import strategies as st

from pinloom import messages
from pinloom.chart import ChartRead, as_text, read_chart
from pinloom.core.findings import has_fault
from tests.chart.kit import book_file
from tests.chart.strategies import GRIDS

MANY = settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
SOME = settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])


def check(read: ChartRead) -> None:
    """A read gives a chart exactly when it found no fault, and every finding has its words."""
    assert (read.chart is None) == has_fault(read.findings)
    for finding in read.findings:
        assert messages.line(finding)
    if read.chart is not None:
        event("a chart")
        assert as_text(read.chart)
        assert all(read.chart.openers)


@given(doors=GRIDS, keys=GRIDS, symbols=st.booleans(), both=st.booleans())
@MANY
def test_random_grids(
    tmp_path: Path, doors: list[list[str]], keys: list[list[str]], symbols: bool, both: bool
) -> None:
    """Random sheets of likely and unlikely cells never raise."""
    paths = [tmp_path / "d.csv", tmp_path / "k.csv"]
    for path, grid in zip(paths, (doors, keys), strict=True):
        text = "\n".join(",".join(row) for row in grid)
        path.write_text(text, encoding="utf-8", errors="replace", newline="")
    check(read_chart(paths[0], paths[1] if both else None, symbols=symbols))


@given(data=st.binary(max_size=200))
@MANY
def test_random_bytes(tmp_path: Path, data: bytes) -> None:
    """Random bytes never raise, with and without the head of a workbook."""
    path = tmp_path / "m.csv"
    path.write_bytes(data)
    check(read_chart(path))
    path.write_bytes(b"PK\x03\x04" + data)
    check(read_chart(path))


@given(doors=GRIDS, keys=GRIDS)
@SOME
def test_random_workbooks(tmp_path: Path, doors: list[list[str]], keys: list[list[str]]) -> None:
    """Random workbooks never raise."""
    clean = [[[c.translate(dict.fromkeys(range(32))) for c in r] for r in g] for g in (doors, keys)]
    check(read_chart(book_file(tmp_path, "b.xlsx", {"doors": clean[0], "keys": clean[1]})))
