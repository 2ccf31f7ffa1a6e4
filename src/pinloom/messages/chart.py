"""Wording of the findings of the chart stage."""

from pinloom.messages._wording import Wording

WORDINGS: dict[str, Wording] = {}
