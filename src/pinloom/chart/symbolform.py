"""The symbol form: a schedule whose symbols tell the masters, by the grammar of ``symbols``.

With a table of keys, only keys of that table exist, and its free names (a key called ``cleaner``)
are keys beside the system unless ``under`` says otherwise. Without one, keys are the symbols that
the doors name and the masters that those call for, each of which is said in a note.
"""

import re
from collections.abc import Mapping
from dataclasses import replace

from pinloom.chart.cells import split_names
from pinloom.chart.gathered import Gathered
from pinloom.chart.keys import KeyLine
from pinloom.chart.raw import Row
from pinloom.chart.schedule import read_schedule
from pinloom.chart.symbols import (
    CylinderSymbol,
    SymbolKind,
    implied_masters,
    kind_of,
    master_of,
    read_cylinder,
)
from pinloom.chart.table import Table
from pinloom.core.chart import NMK, Key
from pinloom.core.findings import Finding, Place, caution, fault, note
from pinloom.core.names import clean

_GAP = re.compile(r"\s+\(NMK\)")
KEYS, OPERATED, EXCEPT = "keys", "operated by", "except"


def read_symbols(
    table: Table, lines: Mapping[str, KeyLine] | None, found: list[Finding]
) -> Gathered:
    """Doors, keys and marks of a schedule in standard key symbols."""
    rows, used = _plain_rows(table, lines, found)
    plain = replace(table, rows=rows, known=_with_except(table))
    known = dict(lines) if lines is not None else _invented(used, table, found)
    return read_schedule(plain, _with_masters(known, found), found)


def _with_except(table: Table) -> dict[str, int]:
    """The columns, with one for ``except`` where the file has none, because (NMK) needs it."""
    if EXCEPT in table.known:
        return table.known
    beyond = max([row.width for row in table.rows] + [*table.known.values(), 0]) + 1
    return {**table.known, EXCEPT: beyond}


def _plain_rows(
    table: Table, lines: Mapping[str, KeyLine] | None, found: list[Finding]
) -> tuple[tuple[Row, ...], dict[str, Place]]:
    """The rows as an ordinary schedule would have them, and the symbols used with places."""
    columns = _with_except(table)
    used: dict[str, Place] = {}
    rows: list[Row] = []
    for row in table.rows:
        keys, except_ = _plain_cells(table, row, lines, used, found)
        cells = {**row.filled, columns[KEYS]: keys, columns[EXCEPT]: except_}
        filled = {index: cells[index] for index in sorted(cells) if cells[index] != ""}
        width = max(row.width, max(columns.values()) + 1)
        rows.append(Row(number=row.number, filled=filled, width=width))
    return tuple(rows), used


def _plain_cells(
    table: Table,
    row: Row,
    lines: Mapping[str, KeyLine] | None,
    used: dict[str, Place],
    found: list[Finding],
) -> tuple[str | None, str | None]:
    """The cells ``keys`` and ``except`` in the plain form. An unreadable one stays None."""
    keys, except_ = table.cell(row, KEYS), table.cell(row, EXCEPT)
    operated = table.cell(row, OPERATED)
    if keys is None:
        return None, except_
    place = table.place(row, KEYS)
    symbols, free = _symbols(clean(_GAP.sub("(NMK)", keys)), place, lines, found)
    names = [symbol.key for symbol in symbols if symbol.key] + free
    names += _operated(table, row, symbols, operated, lines, found)
    bad = not names and bool(keys)
    shut = [symbol for symbol in symbols if symbol.not_master_keyed]
    if shut and len(shut) != len(symbols) + len(free):
        found.append(fault("chart-nmk-mixed", place, text=keys))
    for name in names:
        used.setdefault(name, place)
    for name in split_names(except_ or "", ()):
        if name != NMK and kind_of(name):
            used.setdefault(name, table.place(row, EXCEPT))
    if shut and except_ is not None:
        except_ = clean(f"{except_} {NMK}")
    return (None if bad else " ".join(dict.fromkeys(names))), except_


def _symbols(
    text: str, place: Place, lines: Mapping[str, KeyLine] | None, found: list[Finding]
) -> tuple[list[CylinderSymbol], list[str]]:
    """The cylinder symbols of a cell, and names that only the table of keys knows."""
    symbols: list[CylinderSymbol] = []
    free: list[str] = []
    for name in split_names(text, lines or ()):
        symbol = read_cylinder(name)
        if lines is not None and name in lines and (symbol is None or symbol.crossed):
            free.append(name)
        elif symbol is not None:
            symbols.append(symbol)
        else:
            found.append(fault("chart-symbol-unknown", place, text=name, near=_near(name)))
    return symbols, free


def _near(name: str) -> str:
    upper = name.upper()
    turned = re.fullmatch(r"0*([1-9][0-9]*)([A-Z]+)", upper)
    zeros = re.fullmatch(r"([A-Z]+)0+([1-9][0-9]*)", upper)
    guess = turned[2] + turned[1] if turned else zeros[1] + zeros[2] if zeros else upper
    return f" Perhaps {guess} is meant." if guess != name and read_cylinder(guess) else ""


def _operated(
    table: Table,
    row: Row,
    symbols: list[CylinderSymbol],
    cell: str | None,
    lines: Mapping[str, KeyLine] | None,
    found: list[Finding],
) -> list[str]:
    """The keys of ``operated by``, which a cross-keyed cylinder needs and no other has."""
    crossed = any(symbol.crossed for symbol in symbols)
    place = table.place(row, OPERATED)
    if cell is None:
        return []
    names = split_names(cell, lines or ())
    if crossed and not names:
        found.append(fault("chart-cross-unlisted", place, text=table.cell(row, KEYS) or ""))
    if names and not crossed:
        text = table.cell(row, KEYS) or ""
        found.append(caution("chart-cross-unmarked", place, text=text, keys=cell))
    known: list[str] = []
    for name in names:
        if kind_of(name) or (lines is not None and name in lines):
            known.append(name)
        else:
            found.append(fault("chart-symbol-unknown", place, text=name, near=_near(name)))
    return known


def _invented(used: Mapping[str, Place], table: Table, found: list[Finding]) -> dict[str, KeyLine]:
    """Keys for the symbols in use and for the masters that they call for."""
    lines = {name: KeyLine(key=Key(name=name), place=place) for name, place in used.items()}
    for name in implied_masters(used):
        place = table.head_place(KEYS)
        found.append(note("chart-master-implied", place, key=name))
        lines[name] = KeyLine(key=Key(name=name), place=place)
    return lines


def _with_masters(lines: Mapping[str, KeyLine], found: list[Finding]) -> dict[str, KeyLine]:
    """The keys with ``under`` as their symbols tell it; a table that says otherwise is a fault."""
    told: dict[str, KeyLine] = {}
    for name, line in lines.items():
        master = master_of(name, lines)
        written = line.key.under
        contradicts = master and written and written != master
        if contradicts or (written and kind_of(name) is SymbolKind.SINGLE):
            place = replace(line.place, column="under")
            says = master or "no master"
            found.append(fault("chart-under-symbol", place, key=name, written=written, says=says))
        key = replace(line.key, under=master or written)
        told[name] = replace(line, key=key)
    return told
