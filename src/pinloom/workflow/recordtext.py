"""Records as JSON text: dataclasses, tuples, texts, whole numbers, enums and nothing else.

Same record, same text, and the text that reading expects (``jobfile``): fields in the order of the
class, no blanks, signs beyond ASCII as they are. Written out here because the library that reads
job files takes longer to start than most jobs take to design, and a design only writes them.
"""

from collections.abc import Collection
from dataclasses import fields, is_dataclass
from enum import Enum
from json.encoder import encode_basestring as _quoted

Left = Collection[tuple[type, str]]


class Writer:
    """Writes records; ``left_out`` = fields that are not written, by class. Records of the classes
    ``shared`` stand in many places as the same object; their texts are kept.
    """

    def __init__(self, left_out: Left = (), shared: Collection[type] = ()) -> None:
        self._left_out, self._shared = frozenset(left_out), frozenset(shared)
        self._heads: dict[type, tuple[tuple[str, str], ...]] = {}
        self._known: dict[int, tuple[object, str]] = {}

    def text(self, value: object) -> str:
        """The JSON text of a value. Raises TypeError for what no record holds."""
        if isinstance(value, str):
            return _quoted(value)
        if isinstance(value, tuple):
            text = self.text
            return f"[{','.join([text(one) for one in value])}]"
        if value is None:
            return "null"
        if isinstance(value, bool):
            return "true" if value else "false"
        if isinstance(value, int):
            return str(value)
        if isinstance(value, Enum):
            return self.text(value.value)
        if type(value) not in self._shared:
            return self._record(value)
        known = self._known.get(id(value))
        if known is None:
            # The record is kept beside its text, so that its id stays its own.
            known = self._known[id(value)] = value, self._record(value)
        return known[1]

    def _record(self, value: object) -> str:
        heads = self._heads.get(type(value))
        if heads is None:
            heads = self._heads[type(value)] = self._heads_of(value)
        text = self.text
        return f"{{{','.join([head + text(getattr(value, name)) for head, name in heads])}}}"

    def _heads_of(self, value: object) -> tuple[tuple[str, str], ...]:
        if not is_dataclass(value):
            raise TypeError(f"no record holds a {type(value).__name__}")
        names = [one.name for one in fields(value) if (type(value), one.name) not in self._left_out]
        return tuple((f"{_quoted(name)}:", name) for name in names)
