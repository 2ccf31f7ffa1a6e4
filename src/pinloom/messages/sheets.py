"""Wording of the findings of the sheets stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
