"""Wording of the findings of the workflow stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
