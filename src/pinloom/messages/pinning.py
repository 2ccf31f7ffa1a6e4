"""Wording of the findings of the pinning stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
