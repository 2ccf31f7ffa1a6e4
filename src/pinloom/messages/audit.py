"""Wording of the findings of the audit stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
