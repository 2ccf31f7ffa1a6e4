"""Proof: every key lifted in every cylinder, and compared with the chart.

Imports `core` and nothing else of the program: it would still run if `design` and `pinning` were
deleted, and shares no rule of theirs.
"""

from pinloom.proof.faults import findings
from pinloom.proof.prints import fingerprint_of
from pinloom.proof.prove import prove

__all__ = ["findings", "fingerprint_of", "prove"]
