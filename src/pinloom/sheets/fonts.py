"""Fonts for paper, and whether a text can be set in them at all.

Rules. No font of the machine is used, so that the same job gives the same bytes anywhere. A sign
that none of our fonts has is refused, never replaced by a box or left out. All fonts are free under
the SIL Open Font License 1.1: FiraGO (Latin, Greek, Cyrillic, Arabic, Hebrew, Devanagari, Georgian,
Thai) and Noto (further Latin, symbols, CJK).

Theory. A font's ``cmap`` table says which code points it has (OpenType specification, "cmap -
Character to Glyph Index Mapping Table"; formats 4 and 12, which every font here has). Fonts are
asked in a fixed order, and only those that a text needs are handed to the typesetter.
"""

import struct
import sys
import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.metadata import files as files_of
from pathlib import Path

BASE = ("FiraGO_Regular", "FiraGO_Bold")
CJK = "NotoSansCJKtc-Regular"
CJK_PACKAGE = "cvttf-notosanscjk-regular"

#: fonts in the order in which they are asked for a sign, with their families
FAMILIES = {
    "FiraGO_Regular": "FiraGO",
    "FiraGO_Bold": "FiraGO",
    "NotoSans_Regular": "Noto Sans",
    CJK: "Noto Sans CJK TC",
    "NotoSansSymbols_Regular": "Noto Sans Symbols",
    "NotoSansSymbols2_Regular": "Noto Sans Symbols2",
    "NotoSansMath_Regular": "Noto Sans Math",
}

# Joiners and marks of direction have no shape of their own, so no font needs them.
_SHAPELESS = frozenset("\u200b\u200c\u200d\u200e\u200f\u2060\ufe0e\ufe0f\u061c\u00ad")
# Overrides of direction can make a name read as another one on paper.
_MISLEADING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


@dataclass(frozen=True, slots=True, kw_only=True)
class FontChoice:
    """Which fonts a text needs, by name, and the signs that none of them has, in order."""

    fonts: tuple[str, ...]
    missing: tuple[str, ...]

    def families(self) -> list[str]:
        """The families of the fonts, in order, once each."""
        return list(dict.fromkeys(FAMILIES[name] for name in self.fonts))


def choose(texts: Iterable[str]) -> FontChoice:
    """The fonts for these texts together."""
    wanted = {sign for text in texts for sign in text} - _SHAPELESS - {"\n"}
    bad = {s for s in wanted if s in _MISLEADING or unicodedata.category(s) in ("Cc", "Cs")}
    wanted = {sign for sign in wanted - bad if not sign.isspace() or sign > "\u3000"}
    left = {ord(sign) for sign in wanted} - covered(BASE[0])
    fonts = list(BASE)
    for name in FAMILIES:
        if left and left & covered(name):
            fonts.append(name)
            left -= covered(name)
    missing = sorted(bad | {chr(code) for code in left})
    return FontChoice(fonts=tuple(fonts), missing=tuple(missing))


def write_fonts(names: Iterable[str], folder: Path) -> None:
    """Put font files where the typesetter finds them."""
    for name in names:
        (folder / f"{name}.otf").write_bytes(data_of(name))


@cache
def data_of(name: str) -> bytes:
    """The file of one font."""
    if name == CJK:
        found = [file for file in files_of(CJK_PACKAGE) or () if file.name == f"{CJK}.otf"]
        return Path(str(found[0].locate())).read_bytes()
    module = import_module(f"pymupdf_fonts.{name}")
    data: bytes = module.fontbuffer
    del sys.modules[f"pymupdf_fonts.{name}"]
    return data


@cache
def covered(name: str) -> frozenset[int]:
    """The code points of one font."""
    data = data_of(name)
    found: set[int] = set()
    for start in _subtables(data):
        (kind,) = struct.unpack_from(">H", data, start)
        if kind == 12:
            found.update(_segments(data, start))
        elif kind == 4:
            found.update(_runs(data, start))
    return frozenset(found)


def _subtables(data: bytes) -> Iterator[int]:
    """Places of the Unicode subtables of the cmap."""
    (tables,) = struct.unpack_from(">H", data, 4)
    for i in range(tables):
        tag, _, offset, _ = struct.unpack_from(">4sIII", data, 12 + 16 * i)
        if tag != b"cmap":
            continue
        (count,) = struct.unpack_from(">H", data, offset + 2)
        for j in range(count):
            platform, encoding, place = struct.unpack_from(">HHI", data, offset + 4 + 8 * j)
            if platform == 0 or (platform == 3 and encoding in (1, 10)):
                yield offset + place


def _segments(data: bytes, start: int) -> Iterator[int]:
    """Code points of a subtable of format 12."""
    (groups,) = struct.unpack_from(">I", data, start + 12)
    for i in range(groups):
        first, last, glyph = struct.unpack_from(">III", data, start + 16 + 12 * i)
        yield from range(first if glyph else first + 1, last + 1)


def _runs(data: bytes, start: int) -> Iterator[int]:
    """Code points of a subtable of format 4."""
    (double,) = struct.unpack_from(">H", data, start + 6)
    count = double // 2
    ends = struct.unpack_from(f">{count}H", data, start + 14)
    starts = struct.unpack_from(f">{count}H", data, start + 16 + double)
    deltas = struct.unpack_from(f">{count}H", data, start + 16 + 2 * double)
    base = start + 16 + 3 * double
    shifts = struct.unpack_from(f">{count}H", data, base)
    for i in range(count):
        for code in range(starts[i], min(ends[i], 0xFFFE) + 1):
            if shifts[i] == 0:
                glyph = (code + deltas[i]) & 0xFFFF
            else:
                place = base + 2 * i + shifts[i] + 2 * (code - starts[i])
                (glyph,) = struct.unpack_from(">H", data, place)
            if glyph:
                yield code
