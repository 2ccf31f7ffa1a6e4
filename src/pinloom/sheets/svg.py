"""A scene as SVG text. Everything a user named is escaped by the template; nothing else is text.

Presentation attributes instead of style sheets, so that the text may stand inline in a page whose
content policy forbids styles.
"""

from functools import cache

from jinja2 import Environment, Template

from pinloom.sheets.scene import Dash, Fill, Label, Path, Scene, Shape, number

FONT = "FiraGO, Noto Sans, Noto Sans CJK TC, Noto Sans Symbols2, DejaVu Sans, sans-serif"

_DASHES = {
    Dash.DASHED: "1.2 0.8",
    Dash.DOTTED: "0.25 0.6",
    Dash.CHAIN: "3 0.7 0.5 0.7",
}
_FILLS = {Fill.NONE: "none", Fill.PAPER: "#fff", Fill.INK: "#000", Fill.SHADE: "#e4e4e4"}

_TEMPLATE = """\
<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{{ mm(scene.width) }}mm" \
height="{{ mm(scene.height) }}mm" viewBox="0 0 {{ mm(scene.width) }} {{ mm(scene.height) }}" \
font-family="{{ font }}">
<title>{{ scene.title }}</title>
<desc>{{ scene.told }}</desc>
{% if patterns %}
<defs>
{% for name, lines in patterns %}
<pattern id="fill-{{ name }}" width="1" height="1" patternUnits="userSpaceOnUse">\
<rect width="1" height="1" fill="#fff"/>\
<path d="{{ lines }}" stroke="#000" stroke-width="0.12" fill="none"/></pattern>
{% endfor %}
</defs>
{% endif %}
{% for shape in scene.shapes %}
{% if is_label(shape) %}
<text class="{{ shape.role }}"{% for name, value in shape.facts %} data-{{ name }}="{{ value }}"\
{% endfor %} x="{{ mm(shape.at[0]) }}" y="{{ mm(shape.at[1]) }}" font-size="{{ mm(shape.size) }}"\
 text-anchor="{{ shape.anchor.value }}"{% if shape.bold %} font-weight="bold"{% endif %}>\
{{ shape.text }}</text>
{% else %}
<path class="{{ shape.role }}"{% for name, value in shape.facts %} data-{{ name }}="{{ value }}"\
{% endfor %} d="{{ d(shape) }}" fill="{{ fill(shape) }}" stroke="#000"\
 stroke-width="{{ mm(shape.width) }}"{% if dash(shape) %} stroke-dasharray="{{ dash(shape) }}"\
{% endif %} stroke-linejoin="round"/>
{% endif %}
{% endfor %}
</svg>
"""

#: lines of a pattern in a tile of one millimetre
_PATTERNS = {
    Fill.RISING: "M0 1L1 0M-0.2 0.2L0.2 -0.2M0.8 1.2L1.2 0.8",
    Fill.FALLING: "M0 0L1 1M-0.2 0.8L0.2 1.2M0.8 -0.2L1.2 0.2",
    Fill.CROSS: "M0 0L1 1M0 1L1 0",
    Fill.DOTS: "M0.4 0.5L0.6 0.5",
}


def to_svg(scene: Scene) -> str:
    """The scene as one SVG element, at true scale when printed."""
    used = {shape.fill for shape in scene.shapes if isinstance(shape, Path)}
    patterns = [(fill.value, lines) for fill, lines in _PATTERNS.items() if fill in used]
    return _template().render(
        scene=scene,
        patterns=patterns,
        font=FONT,
        mm=number,
        is_label=_is_label,
        d=_outline,
        fill=_fill,
        dash=_dash,
    )


@cache
def _template() -> Template:
    made = Environment(autoescape=True, trim_blocks=True, lstrip_blocks=True)
    return made.from_string(_TEMPLATE)


def _is_label(shape: Shape) -> bool:
    return isinstance(shape, Label)


def _outline(path: Path) -> str:
    text = "L".join(f"{number(x)} {number(y)}" for x, y in path.points)
    return f"M{text}{'Z' if path.closed else ''}"


def _fill(path: Path) -> str:
    return _FILLS.get(path.fill) or f"url(#fill-{path.fill.value})"


def _dash(path: Path) -> str:
    return _DASHES.get(path.dash, "")
