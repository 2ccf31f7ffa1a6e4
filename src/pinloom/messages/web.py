"""Wording of the findings of the web stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
