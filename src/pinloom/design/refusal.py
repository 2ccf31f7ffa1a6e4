"""A refusal inside the engine: numbers of keys and locks; names come later (``naming.py``)."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Refusal:
    """No design exists. ``keys`` and ``locks`` conflict by themselves already.

    ``code`` is a wording, ``values`` fill it; ``{key}``-like names in ``named`` are numbers of keys
    or locks that become names at the edge. ``minimal``: with any one of them dropped a design was
    found.
    """

    code: str
    keys: tuple[int, ...]
    locks: tuple[int, ...]
    values: tuple[tuple[str, str], ...] = ()
    key_names: tuple[tuple[str, tuple[int, ...]], ...] = ()
    lock_names: tuple[tuple[str, tuple[int, ...]], ...] = ()
    minimal: bool = False
