"""Labels to cut out, a page of them as one drawing: a square code, and text that is made to fit.

One drawing a page instead of a block a label takes the typesetter half the memory (measured on
3,000 labels).
"""

from collections.abc import Iterator, Sequence
from functools import cache

import segno
from jinja2 import Environment, Template

from pinloom.sheets.blocks import Tag
from pinloom.sheets.parting import text_width
from pinloom.sheets.scene import number
from pinloom.sheets.svg import FONT

WIDTH, HEIGHT = 45.0, 21.0
CODE = 14.5
QUIET = 2.8  # four modules of clear paper round a code (ISO/IEC 18004)
ROOM = WIDTH - CODE - 2 * QUIET - 1.0
LINES = 4
SIZES = (3.1, 2.6, 2.2, 1.8, 1.4, 1.0)  # millimetres, the largest that fits

_TEMPLATE = """\
<svg xmlns="http://www.w3.org/2000/svg" width="{{ mm(width) }}mm" height="{{ mm(height) }}mm" \
viewBox="0 0 {{ mm(width) }} {{ mm(height) }}" font-family="{{ font }}">
{% for one in labels %}
<g transform="translate({{ mm(one.left) }} {{ mm(one.top) }})">
<rect width="{{ mm(w) }}" height="{{ mm(h) }}" fill="none" stroke="#000" stroke-width="0.1" \
stroke-dasharray="1 1"/>
<path transform="translate({{ mm(quiet) }} {{ mm(quiet) }}) scale({{ mm(one.scale) }})" \
d="{{ one.runs }}"/>
{% for text, size, y, bold in one.lines %}
<text x="{{ mm(code + 2 * quiet) }}" y="{{ mm(y) }}" font-size="{{ mm(size) }}"\
{% if bold %} font-weight="bold"{% endif %}>{{ text }}</text>
{% endfor %}
</g>
{% endfor %}
</svg>
"""


def labels_svg(tags: Sequence[Tag], columns: int) -> str:
    """A page of labels at true scale."""
    labels = [_label(tag, place, columns) for place, tag in enumerate(tags)]
    return _template().render(
        labels=labels,
        width=WIDTH * columns,
        height=HEIGHT * -(-len(tags) // columns),
        font=FONT,
        mm=number,
        w=WIDTH,
        h=HEIGHT,
        code=CODE,
        quiet=QUIET,
    )


def told(tags: Sequence[Tag]) -> str:
    """The labels in words."""
    return "Labels: " + "; ".join(f"{tag.title} {tag.code}" for tag in tags) + "."


@cache
def _template() -> Template:
    made = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    return made.from_string(_TEMPLATE)


def _label(tag: Tag, place: int, columns: int) -> dict[str, object]:
    size, runs = qr_runs(tag.code)
    return {
        "left": WIDTH * (place % columns),
        "top": HEIGHT * (place // columns),
        "scale": CODE / size,
        "runs": runs,
        "lines": list(_lines(tag)),
    }


def _lines(tag: Tag) -> Iterator[tuple[str, float, float, bool]]:
    """Text, size, base line, and whether it is bold."""
    size, wrapped = fitted(tag.title)
    y = 3.0 + size
    for line in wrapped:
        yield line, size, y, True
        y += size * 1.15
    for text in (tag.code, tag.under):
        if text:
            y += 1.0
            yield text, 2.1, y, False
            y += 1.6


def fitted(text: str) -> tuple[float, list[str]]:
    """The largest size at which a text fits beside its code, and its lines. Nothing is left out."""
    for size in SIZES:
        lines = wrap(text, ROOM / size)
        if len(lines) <= LINES * SIZES[0] / size:
            break
    return size, lines


def wrap(text: str, most: float) -> list[str]:
    """Lines no wider than ``most`` times the size of the text; long words are broken."""
    lines = [""]
    for word in text.split(" "):
        joined = f"{lines[-1]} {word}".strip()
        if text_width(joined) <= most:
            lines[-1] = joined
            continue
        if lines[-1]:
            lines.append("")
        for sign in word:
            if text_width(lines[-1] + sign) > most:
                lines.append("")
            lines[-1] += sign
    return lines


@cache
def qr_runs(code: str) -> tuple[int, str]:
    """A square code (ISO/IEC 18004, error level M) as one path of dark runs, and its side."""
    rows = segno.make(code, error="m", micro=False).matrix
    runs = "".join(f"M{x} {y}h{n}v1h-{n}z" for y, row in enumerate(rows) for x, n in _runs(row))
    return len(rows), runs


def _runs(row: Sequence[int]) -> Iterator[tuple[int, int]]:
    start = None
    for x, dark in enumerate((*row, 0)):
        if dark and start is None:
            start = x
        elif not dark and start is not None:
            yield start, x - start
            start = None
