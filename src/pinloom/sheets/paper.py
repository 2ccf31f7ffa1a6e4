"""Sheets to PDF: what every page says, and the blocks as data for the typesetter.

Rules. Every page says on its face that it is confidential, which job, revision and proof it belongs
to and which page of how many it is. What the bench works from says NOT APPROVED across the page
until somebody approved the revision. Same sheets, same bytes: fixed time, no fonts of the machine.
Texts go to the typesetter as data; nothing a user wrote is read as its language, and nothing is
written to disk on the way but fonts.
"""

import json
import subprocess
import sys
from collections.abc import Iterable, Sequence
from typing import Any

from pinloom.core.job import Job
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
    Tags,
    Text,
)
from pinloom.sheets.fonts import FontChoice, choose
from pinloom.sheets.labels import labels_svg, told
from pinloom.sheets.parting import in_parts
from pinloom.sheets.svg import to_svg

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
    data = json.dumps(_document(sheets, face, paper), ensure_ascii=False)
    chosen = choose([data])
    if chosen.missing:
        raise ValueError(f"no font has {chosen.missing}")
    return _compiled(data, chosen)


def unprintable(texts: Iterable[str]) -> tuple[str, ...]:
    """The signs of these texts that no font of ours has, and signs that mislead."""
    return choose(texts).missing


def face_of(job: Job, approved_by: str | None) -> Face:
    """What every page of a job's sheets says on its face."""
    return Face(
        job=job.name,
        revision=job.revision,
        fingerprint=job.proof.fingerprint,
        approved_by=approved_by,
    )


def note_of(face: Face) -> str:
    """The same in a line, for a workbook."""
    standing = f"approved by {face.approved_by}" if face.approved_by else "NOT APPROVED"
    return (
        f"CONFIDENTIAL · {face.job}, revision {face.revision} · "
        f"proof {printed_fingerprint(face.fingerprint)} · {standing}"
    )


def printed_fingerprint(fingerprint: str) -> str:
    """The first half of a fingerprint in short groups, as pages show it."""
    short = fingerprint[:32]
    return "-".join(short[i : i + GROUP] for i in range(0, len(short), GROUP))


def _compiled(data: str, chosen: FontChoice) -> bytes:
    """Set in a process of its own, so that the typesetter's memory goes back when it is done."""
    head = json.dumps({"fonts": chosen.fonts, "families": chosen.families()})
    done = subprocess.run(
        [sys.executable, "-m", "pinloom.sheets.typesetter"],
        input=f"{head}\n{data}".encode(),
        capture_output=True,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(f"the typesetter failed: {done.stderr.decode(errors='replace')}")
    return done.stdout


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
            {
                "title": sheet.title,
                "blocks": [_block(part) for block in sheet.blocks for part in in_parts(block)],
            }
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
        return {"picture": labels_svg(block.tags, block.columns), "alt": told(block.tags)}
    cards = [
        {
            "title": breakable(card.title),
            "under": breakable(card.under),
            "table": _table(card.table),
        }
        for card in block.cards
    ]
    return {"columns": block.columns, "cards": cards}


def _table(given: Table) -> dict[str, Any]:
    table = given.on_paper()
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


__all__ = ["breakable", "face_of", "note_of", "printed_fingerprint", "to_pdf", "unprintable"]
