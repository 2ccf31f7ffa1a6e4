"""The record of one wording, apart from the index so that stage tables can import it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """What is wrong and what to do about it."""

    what: str
    do: str
