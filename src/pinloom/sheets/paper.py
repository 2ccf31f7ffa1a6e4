"""Sheets to PDF: the one place that knows the typesetter.

Rules. Every page says on its face that it is confidential, which job, revision and proof it belongs
to and which page of how many it is. What the bench works from says NOT APPROVED across the page
until somebody approved the revision. Same sheets, same bytes: fixed time, no fonts of the machine.
Texts go to the typesetter as data; nothing a user wrote is read as its language. Nothing is written
to disk but fonts.

Pages are tagged and made to PDF/UA-1 (ISO 14289-1), which the typesetter checks.
"""

import json
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import segno
import typst

from pinloom.sheets.blocks import (
    Block,
    Cards,
    Cell,
    Drawing,
    Face,
    Facts,
    Heading,
    PageBreak,
    Paper,
    Points,
    Set,
    Sheet,
    Signatures,
    Table,
    Tag,
    Tags,
    Text,
)
from pinloom.sheets.fonts import FontChoice, choose, write_fonts
from pinloom.sheets.svg import to_svg

TIME = 946_684_800  # 1 January 2000: a clock would change the bytes
GROUP = 4  # digits of a fingerprint between hyphens, so that no run of them looks like cuts
LONGEST = 16  # a run without blanks that is longer may be broken anywhere
BREAK = "\u200b"

_AUDIENCE = {
    Set.OWNER: "Owner's set: who opens what. No cuts.",
    Set.BENCH: "Bench's set: cuts and pins. Not for the owner's file, not for the site.",
}


def to_pdf(sheets: Sequence[Sheet], face: Face, paper: Paper) -> bytes:
    """One PDF of sheets of one set. Raises ValueError for signs that no font has: ask
    ``unprintable`` first.
    """
    document = _document(sheets, face, paper)
    chosen = choose([json.dumps(document, ensure_ascii=False)])
    if chosen.missing:
        raise ValueError(f"no font has {chosen.missing}")
    document["fonts"] = chosen.families()
    return _compiled(json.dumps(document, ensure_ascii=False), chosen)


def unprintable(texts: Iterable[str]) -> tuple[str, ...]:
    """The signs of these texts that no font of ours has, and signs that mislead."""
    return choose(texts).missing


def printed_fingerprint(fingerprint: str) -> str:
    """The first half of a fingerprint in short groups, as pages show it."""
    short = fingerprint[:32]
    return "-".join(short[i : i + GROUP] for i in range(0, len(short), GROUP))


def _compiled(data: str, chosen: FontChoice) -> bytes:
    source = files("pinloom.sheets").joinpath("paper.typ").read_bytes()
    with tempfile.TemporaryDirectory() as folder:
        write_fonts(chosen.fonts, Path(folder))
        fonts = typst.Fonts(
            include_system_fonts=False, include_embedded_fonts=False, font_paths=[folder]
        )
        made, told = typst.compile_with_warnings(
            source,
            font_paths=fonts,
            sys_inputs={"data": data},
            pdf_standards="ua-1",
            timestamp=TIME,
        )
    if told:
        raise AssertionError(f"the typesetter warns: {[str(one) for one in told]}")
    assert isinstance(made, bytes)
    return made


def _document(sheets: Sequence[Sheet], face: Face, paper: Paper) -> dict[str, Any]:
    (kind,) = {sheet.set for sheet in sheets}
    approved = face.approved_by is not None
    standing = f"Approved by {face.approved_by}" if approved else "Revision not approved"
    return {
        "title": f"{face.job}, revision {face.revision}: {kind.value}'s set",
        "paper": paper.value,
        "job": breakable(face.job),
        "revision": face.revision,
        "fingerprint": printed_fingerprint(face.fingerprint),
        "secrecy": "CONFIDENTIAL",
        "audience": _AUDIENCE[kind],
        "standing": standing,
        "stamp": "NOT APPROVED" if kind is Set.BENCH and not approved else "",
        "sheets": [
            {"title": sheet.title, "blocks": [_block(block) for block in sheet.blocks]}
            for sheet in sheets
        ],
    }


def _block(block: Block) -> dict[str, Any]:
    return {"kind": type(block).__name__.lower(), **_fields(block)}


def _fields(block: Block) -> dict[str, Any]:
    match block:
        case Heading(text=text):
            return {"text": breakable(text)}
        case Text(text=text, strong=strong):
            return {"text": breakable(text), "strong": strong}
        case Points(texts=texts):
            return {"texts": [breakable(text) for text in texts]}
        case Facts(pairs=pairs):
            return {"pairs": [[breakable(a), breakable(b)] for a, b in pairs]}
        case Table():
            return _table(block)
        case Drawing():
            return _drawing(block)
        case Signatures(lines=lines):
            return {"lines": list(lines)}
        case PageBreak():
            return {}
        case Cards() | Tags():
            return _side_by_side(block)


def _side_by_side(block: Cards | Tags) -> dict[str, Any]:
    if isinstance(block, Tags):
        return {"columns": block.columns, "tags": [_tag(tag) for tag in block.tags]}
    cards = [
        {
            "title": breakable(card.title),
            "under": breakable(card.under),
            "table": _table(card.table),
        }
        for card in block.cards
    ]
    return {"columns": block.columns, "cards": cards}


def _table(table: Table) -> dict[str, Any]:
    return {
        "heads": list(table.heads),
        "rows": [[_cell(cell) for cell in row] for row in table.rows],
        "widths": list(table.widths),
        "centred": [i for i, head in enumerate(table.heads) if head in table.centred],
    }


def _cell(cell: Cell) -> str | dict[str, int]:
    return breakable(cell) if isinstance(cell, str) else {"ticks": cell.count}


def _drawing(drawing: Drawing) -> dict[str, Any]:
    return {
        "picture": to_svg(drawing.scene),
        "alt": f"{drawing.scene.title}. {drawing.scene.told}",
        "width": drawing.scene.width,
        "share": drawing.share,
        "caption": breakable(drawing.caption),
    }


def _tag(tag: Tag) -> dict[str, str]:
    return {
        "code": tag.code,
        "title": breakable(tag.title),
        "under": breakable(tag.under),
        "picture": qr_svg(tag.code),
    }


@cache
def qr_svg(code: str) -> str:
    """A square code as SVG (ISO/IEC 18004, error level M), one path of dark runs."""
    rows = segno.make(code, error="m", micro=False).matrix
    size = len(rows) + 4
    runs = "".join(
        f"M{x + 2} {y + 2}h{n}v1h-{n}z" for y, row in enumerate(rows) for x, n in _runs(row)
    )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}">'
        f'<path d="{runs}"/></svg>'
    )


def _runs(row: Sequence[int]) -> Iterator[tuple[int, int]]:
    start = None
    for x, dark in enumerate((*row, 0)):
        if dark and start is None:
            start = x
        elif not dark and start is not None:
            yield start, x - start
            start = None


def breakable(text: str) -> str:
    """The text with chances to break a line inside runs that have none of their own."""
    return " ".join(word if len(word) <= LONGEST else _broken(word) for word in text.split(" "))


def _broken(word: str) -> str:
    made = []
    for place, sign in enumerate(word):
        if place and place % 8 == 0 and sign.isalnum():
            made.append(BREAK)
        made.append(sign)
    return "".join(made)


__all__ = ["breakable", "printed_fingerprint", "qr_svg", "to_pdf", "unprintable"]
