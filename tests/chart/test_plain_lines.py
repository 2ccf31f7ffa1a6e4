"""A CSV text read by its marks gives the records that the library gives, cell by cell."""

import csv
import io
import random

from pinloom.chart.csvtext import read_csv

SIGNS = ["", "", "", "", "", "x", "x", " ", "é", "a b", "\x0b", "\u2028", "'", '"q"', '"a\nb"', '"']
WIDE = 400  # separators: enough for the marks of a line to be looked for


def _text(rng: random.Random, separator: str) -> str:
    lines = []
    for _ in range(rng.randint(1, 6)):
        width = rng.choice([1, 2, 5, WIDE])
        row = [rng.choice(SIGNS if width < WIDE else ["", "", "x"]) for _ in range(width)]
        if width == WIDE:
            row = [cell if rng.random() < 0.05 else "" for cell in row]
        lines.append(separator.join(row))
    end = rng.choice(["\n", "\r\n", "\r"])
    return end.join(["door,A" if separator == "," else f"door{separator}A", *lines])


def _by_the_library(text: str, separator: str) -> list[tuple[int, int, dict[int, str]]]:
    """Number, width and filled cells of the records up to the first broken quote."""
    found: list[tuple[int, int, dict[int, str]]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = 0
    while True:
        number += 1
        try:
            cells = next(reader)
        except (StopIteration, csv.Error):
            return found
        filled = {i: cell.strip() for i, cell in enumerate(cells) if cell.strip()}
        if filled:
            found.append((number, len(cells), filled))


def test_records_are_those_of_the_library() -> None:
    """Same numbers, widths and cells, with and without quotes, for each separator and line end."""
    rng = random.Random(1)
    wide = quoted = 0
    for _ in range(400):
        separator = rng.choice([",", ";", "\t"])
        text = _text(rng, separator)
        (sheet,) = read_csv(text.encode(), "chart.csv").sheets
        wanted = _by_the_library(text, separator)
        assert [(row.number, row.width, dict(row.filled)) for row in sheet.rows] == wanted
        wide += any(width == WIDE for _, width, _ in wanted)
        quoted += '"' in text
    assert wide > 100
    assert quoted > 100


def test_a_cell_beyond_the_limit_is_a_fault() -> None:
    """The library's limit holds on plain lines too: what follows is not read."""
    text = f"door,A\nLoft 1,{'x' * (csv.field_size_limit() + 1)}\nLoft 2,x\n"
    book = read_csv(text.encode(), "chart.csv")
    assert [(one.code, one.place.row) for one in book.findings] == [("chart-csv-quoting", 2)]
    assert len(book.sheets[0].rows) == 1
