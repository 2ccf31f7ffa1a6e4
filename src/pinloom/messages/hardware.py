"""Wording of the findings of the hardware stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
