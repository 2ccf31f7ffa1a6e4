"""Wording of the findings of the growth stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
