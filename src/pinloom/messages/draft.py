"""Wording of the findings of the draft stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
