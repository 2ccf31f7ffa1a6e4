"""What stands below a section drawing: the arithmetic in rows, and which pattern is which pin."""

from collections.abc import Iterator, Sequence

from pinloom.core.bench import PartKind
from pinloom.core.hardware import HardwareFormat
from pinloom.sheets.heights import Chamber, Standing, State, Verdict
from pinloom.sheets.scene import Anchor, Fill, Label, Path, Shape, box

ROW = 5.0

FILLS = {
    PartKind.BOTTOM: Fill.PAPER,
    PartKind.MASTER: Fill.RISING,
    PartKind.BUILDUP: Fill.CROSS,
    PartKind.DRIVER: Fill.FALLING,
    PartKind.SECURITY_DRIVER: Fill.DOTS,
}
NAMES = {
    PartKind.BOTTOM: "bottom pin",
    PartKind.MASTER: "master pin",
    PartKind.BUILDUP: "build-up pin",
    PartKind.DRIVER: "driver",
    PartKind.SECURITY_DRIVER: "security driver",
}
_STATES = {
    State.FREE: "free",
    State.NEAR: "near",
    State.HELD: "HELD",
    State.UNPINNED: "no pins",
    State.UNKNOWN: "?",
    State.AT_REST: "",
}


def row_texts(standing: Standing, made: HardwareFormat) -> list[tuple[str, list[str]]]:
    """Heads of the rows, and a text a chamber."""
    chambers = standing.chambers
    pins = [" ".join(pin.size for pin in one.pins[:-1]) or "-" for one in chambers]
    rows = [("chamber", [str(one.number) for one in chambers])]
    if standing.verdict is not Verdict.NO_KEY:
        cuts = ["-" if one.level is None else made.depths[one.level].stamped for one in chambers]
        off = ["-" if _untold(one) else _steps(one) for one in chambers]
        rows += [("cut of the key", cuts), ("pins from below", pins)]
        rows += [("steps off the line", off), ("so it is", [_STATES[s.state] for s in chambers])]
    else:
        rows.append(("pins from below", pins))
    return rows


def _untold(chamber: Chamber) -> bool:
    return chamber.state in (State.UNPINNED, State.UNKNOWN, State.AT_REST)


def _steps(chamber: Chamber) -> str:
    return "0" if chamber.state is State.FREE else str(max(chamber.steps, 1))


def rows(
    standing: Standing, made: HardwareFormat, columns: Sequence[float], top: float
) -> Iterator[Shape]:
    """The rows; ``columns`` = places on paper of the chambers, in reading order."""
    for row, (head, texts) in enumerate(row_texts(standing, made)):
        base = top + ROW * row + 3
        yield Label(role="row-head", at=(1.0, base), text=head, size=2.4, anchor=Anchor.START)
        for chamber, text in zip(standing.chambers, texts, strict=True):
            yield Label(
                role="row",
                at=(columns[chamber.number - 1], base),
                text=text,
                size=2.6,
                bold=chamber.state is State.HELD and head == "so it is",
                facts=(("row", head), ("chamber", str(chamber.number))),
            )


def legend(standing: Standing, top: float) -> Iterator[Shape]:
    """Which fill is which kind of pin."""
    kinds = sorted(
        {pin.kind for one in standing.chambers for pin in one.pins}, key=list(PartKind).index
    )
    left = 1.0
    for kind in kinds:
        yield Path(
            role="legend",
            points=box(left, top, left + 3.5, top + 2.6),
            closed=True,
            fill=FILLS[kind],
            width=0.2,
        )
        yield Label(
            role="legend",
            at=(left + 4.3, top + 2.2),
            text=NAMES[kind],
            size=2.4,
            anchor=Anchor.START,
        )
        left += 8.5 + 1.25 * len(NAMES[kind])
