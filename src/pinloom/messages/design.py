"""Wording of the findings of the design stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
