"""The draft as a workbook to edit: doors and keys as a schedule, the rest for the meeting.

The sheets ``doors`` and ``keys`` are the schedule form of the project's chart files. Their heads in
round brackets are for people; reading skips them. Texts only, so no cell starts a formula; fixed
dates, so the same draft gives the same bytes.
"""

import io
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

import xlsxwriter

from pinloom.draft.building import Room
from pinloom.draft.drafted import DraftSchedule
from pinloom.draft.judged import Judged, Why
from pinloom.draft.words import APART, CAUTIONS, EGRESS_CAUTION, HOW_TO_USE, LEFT_OUT

Rows = Sequence[Sequence[str]]

_WORKBOOK_DATE = datetime(2000, 1, 1, tzinfo=UTC)  # a clock would change the bytes
_WIDEST = 60  # characters of a column


def write_schedule(schedule: DraftSchedule, path: str | Path) -> None:
    """Write the workbook. Raises OSError when the path cannot be written."""
    Path(path).write_bytes(workbook(_sheets(schedule)))


def workbook(sheets: Sequence[tuple[str, Rows]]) -> bytes:
    """An XLSX workbook of texts: one sheet a pair of name and rows, the first row its heads."""
    data = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(data, options) as book:
        book.set_properties({"created": _WORKBOOK_DATE})
        text = book.add_format({"num_format": "@", "text_wrap": True, "valign": "top"})
        head = book.add_format({"num_format": "@", "bold": True, "valign": "top"})
        for name, rows in sheets:
            page = book.add_worksheet(name)
            page.freeze_panes(1, 1)
            for column in range(len(rows[0])):
                widest = max(len(row[column]) for row in rows)
                page.set_column(column, column, min(_WIDEST, widest + 2), text)
            for number, row in enumerate(rows):
                for column, cell in enumerate(row):
                    if cell:
                        page.write_string(number, column, cell, text if number else head)
    return data.getvalue()


def _sheets(schedule: DraftSchedule) -> list[tuple[str, Rows]]:
    return [
        ("doors", _door_rows(schedule)),
        ("keys", _key_rows(schedule)),
        ("no cylinder", _apart_rows(schedule)),
        ("service keys", _service_rows(schedule)),
        ("open questions", _question_rows(schedule)),
        ("read me first", _read_me_rows(schedule)),
    ]


def _label(room: Room | None) -> str:
    return room.label if room is not None else "outdoors or not told"


def _why(judged: Judged) -> str:
    return judged.why.value if judged.why is not Why.NONE else ""


def _caution(judged: Judged) -> str:
    return EGRESS_CAUTION[judged.egress] if judged.egress is not None else ""


def _door_rows(schedule: DraftSchedule) -> Rows:
    heads = ("door", "keys", "except", "cylinder", "(protected)", "(other side)", "(why this side)")
    rows = [(*heads, "(department)", "(floor)", "(door type)", "(caution)")]
    for door in schedule.doors:
        judged = door.judged
        rows.append(
            (
                judged.door.name,
                " ".join(door.keys),
                "",
                "",
                _label(judged.inside),
                _label(judged.outside),
                _why(judged),
                door.department,
                door.floor,
                judged.door.type_text or judged.door.type_name,
                _caution(judged),
            )
        )
    return rows


def _key_rows(schedule: DraftSchedule) -> Rows:
    rows = [("key", "under", "copies", "note")]
    return rows + [(key.name, key.under, "", key.note) for key in schedule.keys]


def _apart_rows(schedule: DraftSchedule) -> Rows:
    rows = [("door", "wants", "because", "one side", "other side", "door type", "caution")]
    for judged in schedule.apart:
        assert judged.apart is not None
        rows.append(
            (
                judged.door.name,
                APART[judged.apart],
                judged.apart.value,
                _label(judged.inside),
                _label(judged.outside),
                judged.door.type_text or judged.door.type_name,
                _caution(judged),
            )
        )
    return rows


def _service_rows(schedule: DraftSchedule) -> Rows:
    rows = [("key", "door", "room", "opens", "because")]
    for line in schedule.services:
        because = line.kind.value if line.opens else LEFT_OUT[line.kind]
        opens = "yes" if line.opens else "left out"
        judged = line.judged
        rows.append((line.service.value, judged.door.name, _label(judged.inside), opens, because))
    return rows


def _question_rows(schedule: DraftSchedule) -> Rows:
    rows = [("no.", "about", "question", "until then the draft assumes", "answer")]
    for number, one in enumerate(schedule.questions, start=1):
        rows.append((str(number), one.about, one.question, one.assumed, ""))
    return rows


def _read_me_rows(schedule: DraftSchedule) -> Rows:
    rows = [("about this draft", "")]
    rows.append(("building", schedule.building))
    rows.append(("from", f"{schedule.source} records; masters by {schedule.grouping.value}"))
    rows.append(("doors with a cylinder", str(len(schedule.doors))))
    rows.append(("doors without", str(len(schedule.apart))))
    rows.append(("keys", str(len(schedule.keys))))
    rows += [("caution", text) for text in CAUTIONS]
    return rows + [("how to use it", text) for text in HOW_TO_USE]
