"""Wording of the findings of the proof stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
