"""Pictures of an audit as SVG: the census, the exposure of each door, and who is kept out by what.

They are read without colour: black, white, hatching and numbers say everything, so they survive a
copier. Layout is worked out here, in whole tenths of a millimetre;
the templates only draw. Text is escaped by the template engine.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil, log10

from jinja2 import Environment, PackageLoader, StrictUndefined

from pinloom.audit.margins import Cell, MarginMap
from pinloom.audit.records import Audit, Census, DoorExposure

LONGEST_NAME = 16  # signs of a name beside a picture
STRIP_ROW = 30  # doors in one row of the strip
STRIP_DOORS = 120  # doors in the strip at most
PLOT_HEIGHT = 700
BAR = 84
FOOT = 0.3  # decades below a count of one, so that a single key still shows
NARROWEST = 1700


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("pinloom.audit"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def _draw(template: str, **values: object) -> str:
    return _templates().get_template(template).render(**values)


def short(name: str) -> str:
    """A name as it fits beside a picture; signs that no SVG may hold are left out."""
    plain = "".join(sign for sign in name if sign.isprintable())
    return plain if len(plain) <= LONGEST_NAME else plain[: LONGEST_NAME - 1] + "…"


# --- census ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """One place on the axis of doors: keys that open ``low``..``high`` doors, both ways counted."""

    label: str
    exact: int
    tolerant: int


def census_bins(exact: Census, tolerant: Census) -> tuple[Bin, ...]:
    """At most about twenty places: single numbers while they last, then doubling ranges."""
    most = max(doors for census in (exact, tolerant) for doors, _ in census.opens)
    if most <= 20:
        ranges = [(doors, doors) for doors in range(most + 1)]
    else:
        ranges = [(0, 0), (1, 1), (2, 2), (3, 3)]
        while ranges[-1][1] < most:
            low = ranges[-1][1] + 1
            ranges.append((low, min(2 * low - 1, most)))
    return tuple(
        Bin(
            label=str(low) if low == high else f"{low}–{high}",
            exact=_keys_between(exact, low, high),
            tolerant=_keys_between(tolerant, low, high),
        )
        for low, high in ranges
    )


def census_svg(audit: Audit) -> str | None:
    """Keys by the number of doors they open, on a scale of powers of ten; None without a census."""
    exact, tolerant = audit.exact, audit.tolerant
    if exact is None or tolerant is None:
        return None
    bins = census_bins(exact, tolerant)
    top = max(_decades(one) for b in bins for one in (b.exact, b.tolerant))
    powers = ceil(top - FOOT)
    scale = PLOT_HEIGHT / (powers + FOOT)
    bars = [
        {
            "x": 270 + place * (2 * BAR + 40),
            "label": one.label,
            "pair": [
                {"height": round(_decades(keys) * scale), "text": compact(keys)}
                for keys in (one.exact, one.tolerant)
            ],
        }
        for place, one in enumerate(bins)
    ]
    return _draw(
        "census.svg.j2",
        name=short(audit.name),
        bars=bars,
        bar=BAR,
        lines=[
            {"y": round((power + FOOT) * scale), "text": f"{10**power:,}"}
            for power in range(powers + 1)
        ],
        plot=PLOT_HEIGHT,
        width=max(NARROWEST, 310 + len(bins) * (2 * BAR + 40)),
        total=f"{exact.keys:,}",
        opening=f"{tolerant.opening:,}",
    )


def compact(number: int) -> str:
    """A count in at most four signs or so: 812, 3.4k, 56k, 1.2M."""
    for unit, sign in ((1_000_000_000, "G"), (1_000_000, "M"), (1_000, "k")):
        if number >= unit:
            tenths = number * 10 // unit
            return (
                f"{tenths // 10}.{tenths % 10}{sign}" if tenths < 100 else f"{tenths // 10}{sign}"
            )
    return str(number)


def _keys_between(census: Census, low: int, high: int) -> int:
    return sum(keys for doors, keys in census.opens if low <= doors <= high)


def _decades(number: int) -> float:
    """Height of a count in powers of ten, above the foot."""
    return 0.0 if number == 0 else log10(number) + FOOT


# --- exposure -------------------------------------------------------------------------------------


def exposure_svg(audit: Audit) -> str:
    """Door by door: combinations beyond the issued keys, and what is at stake.

    Where there are more than fit, the doors with most behind them and most combinations are drawn.
    """
    counts = {door.door: door for door in audit.doors}
    chosen = _most_exposed(audit)
    top = max((_decades(counts[one.door].tolerant) for one in chosen), default=1.0)
    scale = 300 / max(top, 1.0)
    columns = [
        {
            "x": 150 + (place % STRIP_ROW) * 80,
            "name": short(one.door),
            "exact": round(_decades(counts[one.door].exact) * scale),
            "tolerant": round(_decades(counts[one.door].tolerant) * scale),
            "text": compact(counts[one.door].tolerant),
            "holders": one.holders,
            "stake": bool(one.at_stake),
        }
        for place, one in enumerate(chosen)
    ]
    rows = [columns[start : start + STRIP_ROW] for start in range(0, len(columns), STRIP_ROW)]
    across = min(STRIP_ROW, max(len(columns), 1))
    return _draw(
        "exposure.svg.j2",
        name=short(audit.name),
        rows=rows,
        width=max(NARROWEST, 230 + across * 80 + 20),
        shown=len(chosen),
        doors=len(audit.doors),
    )


def _most_exposed(audit: Audit) -> Sequence[DoorExposure]:
    if len(audit.exposure) <= STRIP_DOORS:
        return audit.exposure
    tolerant = {door.door: door.tolerant for door in audit.doors}
    order = sorted(
        range(len(audit.exposure)),
        key=lambda i: (-audit.exposure[i].behind, -tolerant[audit.exposure[i].door], i),
    )
    return [audit.exposure[i] for i in sorted(order[:STRIP_DOORS])]


# --- margins --------------------------------------------------------------------------------------


def margins_svg(name: str, shown: MarginMap) -> str:
    """Keys across, doors down: each cell says how many chambers keep the key out, and how well."""
    return _draw(
        "margins.svg.j2",
        name=short(name),
        keys=[short(key) for key in shown.keys],
        doors=[short(door) for door in shown.doors],
        cells=[[_cell(cell) for cell in row] for row in shown.cells],
        left_out=shown.left_out,
        width=max(NARROWEST, 560 + 60 * len(shown.keys)),
        height=620 + 60 * len(shown.doors),
    )


def _cell(cell: Cell) -> dict[str, object]:
    return {"kind": cell.kind.name.lower(), "text": str(cell.chambers) if cell.chambers else ""}
