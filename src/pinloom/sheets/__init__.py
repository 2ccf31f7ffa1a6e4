"""A proved job to drawings and paper. Drawings are scenes, built once and replayed anywhere."""

from pinloom.sheets.blocks import Paper
from pinloom.sheets.cutlist import to_pin
from pinloom.sheets.keyline import key_shape
from pinloom.sheets.make import NAMES, check, make
from pinloom.sheets.order import AuditDigest, AuditLine, KeyControl, Minutes, SheetOrder
from pinloom.sheets.scene import Scene
from pinloom.sheets.section import section_scene
from pinloom.sheets.svg import to_svg
from pinloom.sheets.trips import TripOrder, TripSheet, make_orders

__all__ = [
    "NAMES",
    "AuditDigest",
    "AuditLine",
    "KeyControl",
    "Minutes",
    "Paper",
    "Scene",
    "SheetOrder",
    "TripOrder",
    "TripSheet",
    "check",
    "key_shape",
    "make",
    "make_orders",
    "section_scene",
    "to_pin",
    "to_svg",
]
