"""A proved job to drawings and paper. Drawings are scenes, built once and replayed anywhere."""

from pinloom.sheets.keyline import key_shape
from pinloom.sheets.scene import Scene
from pinloom.sheets.section import section_scene
from pinloom.sheets.svg import to_svg

__all__ = ["Scene", "key_shape", "section_scene", "to_svg"]
