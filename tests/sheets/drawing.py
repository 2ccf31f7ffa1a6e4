"""Reads an SVG drawing back: shapes by role, their points and their figures."""

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

_NAMESPACE = "{http://www.w3.org/2000/svg}"
_NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One shape as drawn: points on paper in millimetres, text if it is one, ``data-`` figures."""

    role: str
    points: tuple[tuple[float, float], ...]
    text: str
    data: dict[str, str]

    @property
    def top(self) -> float:
        """The highest point on paper."""
        return min(y for _, y in self.points)

    @property
    def bottom(self) -> float:
        """The lowest point on paper."""
        return max(y for _, y in self.points)


def read(svg: str) -> list[Drawn]:
    """Every shape of a drawing in order."""
    return [_drawn(node) for node in ET.fromstring(svg) if node.get("class")]


def roles(svg: str, role: str) -> list[Drawn]:
    """The shapes whose role begins with a word."""
    return [one for one in read(svg) if one.role.split()[0] == role]


def _drawn(node: ET.Element) -> Drawn:
    numbers = [float(n) for n in _NUMBER.findall(node.get("d", ""))]
    points = tuple(zip(numbers[::2], numbers[1::2], strict=True))
    if node.tag == f"{_NAMESPACE}text":
        points = ((float(node.get("x", "0")), float(node.get("y", "0"))),)
    return Drawn(
        role=node.get("class", ""),
        points=points,
        text=node.text or "",
        data={k.removeprefix("data-"): v for k, v in node.attrib.items() if k.startswith("data-")},
    )
