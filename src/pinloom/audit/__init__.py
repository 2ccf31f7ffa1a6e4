"""Audit: what else opens these doors, how narrowly keys are kept out, and what is exposed."""

from pinloom.audit.audit import audit, door_counts
from pinloom.audit.compare import Compared, Comparison, Measure, compare
from pinloom.audit.machine import as_json
from pinloom.audit.margins import MarginMap, margin_map
from pinloom.audit.pictures import Bin, census_bins, census_svg, exposure_svg, margins_svg
from pinloom.audit.records import (
    Audit,
    Census,
    Countermeasure,
    DoorCount,
    DoorExposure,
    IncidentalKey,
    MasterExposure,
    Neighbour,
    Neighbours,
    Reach,
    Standards,
)

__all__ = [
    "Audit",
    "Bin",
    "Census",
    "Compared",
    "Comparison",
    "Countermeasure",
    "DoorCount",
    "DoorExposure",
    "IncidentalKey",
    "MarginMap",
    "MasterExposure",
    "Measure",
    "Neighbour",
    "Neighbours",
    "Reach",
    "Standards",
    "as_json",
    "audit",
    "census_bins",
    "census_svg",
    "compare",
    "door_counts",
    "exposure_svg",
    "margin_map",
    "margins_svg",
]
