"""The one door between the chart stage and the disk, for reading: a path to raw sheets.

The kind of a file is told by its first bytes, not by its ending, because endings are often wrong.
"""

from pathlib import Path

from pinloom.chart.csvtext import read_csv
from pinloom.chart.raw import Book, Choose
from pinloom.core.findings import Place, fault

LARGEST = 200_000_000  # bytes; a schedule of 20,000 doors has less than 2,000,000

_ZIP = b"PK\x03\x04"
_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0"


def read_book(path: Path, choose: Choose) -> Book:
    """The sheet of a CSV file, or the chosen ones of a workbook; failure to read is a finding."""
    place = Place(file=path.name)
    try:
        if path.is_dir():
            folder = fault("chart-file-unreadable", place, reason="it is a folder")
            return Book(file=path.name, findings=(folder,))
        if path.stat().st_size > LARGEST:
            large = fault("chart-too-large", place, megabytes=LARGEST // 1_000_000)
            return Book(file=path.name, findings=(large,))
        data = path.read_bytes()
    except FileNotFoundError:
        return Book(file=path.name, findings=(fault("chart-file-missing", place),))
    except OSError as error:
        reason = error.strerror or "unknown reason"
        return Book(
            file=path.name, findings=(fault("chart-file-unreadable", place, reason=reason),)
        )
    if data.startswith(_ZIP):
        # The library is slow to load; a CSV file must not wait for it.
        from pinloom.chart.workbook import read_workbook

        return read_workbook(data, path.name, choose)
    if data.startswith(_OLD_WORKBOOK):
        return Book(file=path.name, findings=(fault("chart-old-workbook", place),))
    return read_csv(data, path.name)
