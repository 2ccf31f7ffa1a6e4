"""Everything out, in open formats.

- the shop's lists (``lists.COLUMNS``) as CSV and as one workbook: what ``lists_in`` reads;
- ``register.csv``: every issue there ever was, with the register's fields;
- ``revisions.csv``, ``opens.csv``: the systems' revisions, and which key opens which door in each;
- ``events.jsonl``: the whole chain, one event a line, with every field under its hash;
- ``sealed.jsonl`` and ``strongbox.json``: the sealed cuts and pins, still sealed.

Texts are written as they are; in the workbook a text that begins with ``=`` stays a text. Times are
UTC. The same ledger gives the same bytes.
"""

import base64
import csv
import io
import json
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import astuple, fields
from datetime import UTC, datetime

from sqlalchemy import select

from pinloom.ledger.events import CHAINED
from pinloom.ledger.lists import COLUMNS, ListKind
from pinloom.ledger.register import RegisterLine, register
from pinloom.ledger.rows import (
    BlankRow,
    BuildingRow,
    CopyRow,
    CylinderRow,
    DoorPlaceRow,
    OpensRow,
    PersonRow,
    RevisionRow,
    SignatoryRow,
    SiteRow,
    SystemRow,
)
from pinloom.ledger.schema import events, sealed
from pinloom.ledger.view import Reading, table_of

Rows = list[list[str]]
_CHUNK = 500


def tables(view: Reading) -> dict[ListKind, Rows]:
    """The shop's lists, without their heads."""
    sites = {row.id: row.name for row in view.rows(SiteRow)}
    systems = {row.id: row for row in view.rows(SystemRow)}
    people = _labels(view.rows(PersonRow))
    return {
        ListKind.SITES: _sites(view, sites),
        ListKind.PEOPLE: [
            [people[row.id], row.name, row.organisation, row.contact, row.note]
            for row in view.rows(PersonRow)
        ],
        ListKind.SIGNATORIES: [
            [sites[row.site], people[row.person], row.authority, row.until]
            for row in view.rows(SignatoryRow)
            if not row.ended
        ],
        ListKind.BLANKS: [
            [row.name, "yes" if row.restricted else "no", str(row.left())]
            for row in view.rows(BlankRow)
        ],
        ListKind.KEYS: _keys(view, sites, systems, people),
        ListKind.DOORS: [
            [*_system(systems[row.system], sites), row.door, row.building]
            for row in view.rows(DoorPlaceRow)
        ],
        ListKind.CYLINDERS: [
            [*_system(systems[row.system], sites), row.mark, row.pinned_for, row.door, row.place]
            for row in view.rows(CylinderRow)
        ],
    }


def _labels(people: list[PersonRow]) -> dict[int, str]:
    times = Counter(row.name.casefold() for row in people)
    taken = set(times)
    labels: dict[int, str] = {}
    for row in people:
        label, number = row.name, 2
        if times[row.name.casefold()] > 1 and row.name.casefold() in {
            one.casefold() for one in labels.values()
        }:
            while f"{row.name} ({number})".casefold() in taken:
                number += 1
            label = f"{row.name} ({number})"
            taken.add(label.casefold())
        labels[row.id] = label
    return labels


def _sites(view: Reading, sites: dict[int, str]) -> Rows:
    buildings: dict[int, list[str]] = {}
    for row in view.rows(BuildingRow):
        buildings.setdefault(row.site, []).append(row.name)
    return [
        [name, building]
        for number, name in sites.items()
        for building in buildings.get(number, [""])
    ]


def _system(row: SystemRow, sites: dict[int, str]) -> list[str]:
    return [sites[row.site], row.name]


def _keys(
    view: Reading, sites: dict[int, str], systems: dict[int, SystemRow], people: dict[int, str]
) -> Rows:
    taken = [copy.issue for copy in view.rows(CopyRow, table_of(CopyRow).c.issue > 0)]
    open_lines = _open_lines(view, taken)
    rows = []
    for copy in view.rows(CopyRow):
        line = open_lines.get(str(copy.issue))
        rows.append(
            [
                *_system(systems[copy.system], sites),
                copy.name,
                copy.stamp,
                str(copy.number),
                str(copy.combination),
                copy.blank,
                copy.state,
                people.get(copy.holder, ""),
                copy.out_at,
                copy.due,
                line.issuer if line else "",
                line.issuer_signature if line else "",
                line.receiver_signature if line else "",
            ]
        )
    return rows


def _open_lines(view: Reading, issues: list[int]) -> dict[str, RegisterLine]:
    """The register's lines of some issues, by the issue's number."""
    found: dict[str, RegisterLine] = {}
    for some in _chunks(issues):
        about = events.c.seq.in_(some)
        copies = [event.subject for event in view.events(about)]
        lines = register(view, events.c.subject.in_(copies), events.c.seq >= min(some))
        found |= {line.receipt.split("-")[0]: line for line in lines}
    return found


def _register(view: Reading) -> Iterator[RegisterLine]:
    """Every line there is, copy by copy, so that a long ledger fits."""
    for some in _chunks([copy.id for copy in view.rows(CopyRow)]):
        lines = register(view, events.c.subject.in_(some))
        yield from sorted(lines, key=lambda line: (line.system, line.key_number, line.out_at))


def _chunks(numbers: list[int]) -> Iterator[list[int]]:
    for start in range(0, len(numbers), _CHUNK):
        yield numbers[start : start + _CHUNK]


def written(view: Reading) -> Iterator[tuple[str, bytes]]:
    """Every file of an export: its name and its bytes."""
    lists = tables(view)
    for kind, rows in lists.items():
        yield f"{kind.value}.csv", _csv(COLUMNS[kind].all(), rows)
    yield "lists.xlsx", workbook(lists)
    heads = [field.name for field in fields(RegisterLine)]
    lines = ([_said(part) for part in astuple(line)] for line in _register(view))
    yield "register.csv", _csv(heads, lines)
    yield "revisions.csv", _csv([f.name for f in fields(RevisionRow)], _plain(view, RevisionRow))
    yield "opens.csv", _csv([f.name for f in fields(OpensRow)], _plain(view, OpensRow))
    yield "events.jsonl", b"".join(_events(view))
    yield "sealed.jsonl", b"".join(_sealed(view))
    yield "strongbox.json", view.strongbox().encode("ascii") + b"\n"


def workbook(lists: dict[ListKind, Rows]) -> bytes:
    """The shop's lists as one workbook, a sheet a list."""
    import xlsxwriter

    target = io.BytesIO()
    options = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}
    book = xlsxwriter.Workbook(target, options)
    book.set_properties({"created": datetime(2000, 1, 1, tzinfo=UTC)})  # the same bytes each time
    bold = book.add_format({"bold": True})
    text = book.add_format({"num_format": "@"})
    for kind, rows in lists.items():
        sheet = book.add_worksheet(kind.value)
        sheet.freeze_panes(1, 0)
        for column, head in enumerate(COLUMNS[kind].all()):
            sheet.write_string(0, column, head, bold)
            sheet.set_column(column, column, max(12, len(head) + 2), text)
        for number, row in enumerate(rows, start=1):
            for column, cell in enumerate(row):
                if cell:
                    sheet.write_string(number, column, cell, text)
    book.close()
    return target.getvalue()


def _plain(view: Reading, kind: type[RevisionRow] | type[OpensRow]) -> Rows:
    return [[_said(part) for part in astuple(row)] for row in view.rows(kind)]


def _said(part: object) -> str:
    if isinstance(part, bool):
        return "yes" if part else "no"
    return str(part)


def _csv(heads: Iterable[str], rows: Iterable[Iterable[str]]) -> bytes:
    target = io.StringIO(newline="")
    writer = csv.writer(target, lineterminator="\r\n")  # RFC 4180
    writer.writerow(heads)
    writer.writerows(rows)
    return target.getvalue().encode("utf-8")


def _events(view: Reading) -> Iterator[bytes]:
    columns = [events.c[name] for name in (*CHAINED, "hash")]
    query = select(*columns).order_by(events.c.seq)
    for row in view.connection.execute(query, execution_options={"yield_per": 2000}):
        yield json.dumps(dict(row._mapping), ensure_ascii=False).encode("utf-8") + b"\n"


def _sealed(view: Reading) -> Iterator[bytes]:
    query = select(sealed.c.seq, sealed.c.body).order_by(sealed.c.seq)
    for seq, body in view.connection.execute(query):
        row = {"seq": seq, "body": base64.b64encode(body).decode("ascii")}
        yield json.dumps(row).encode("ascii") + b"\n"
