"""Wording of the findings of the ledger stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
