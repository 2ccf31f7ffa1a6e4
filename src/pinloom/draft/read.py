"""The building from whichever kind of record it is handed over in."""

from pathlib import Path

from pinloom.draft.building import BuildingRead
from pinloom.draft.cobie import read_cobie


def read_building(path: str | Path) -> BuildingRead:
    """Read a building from a COBie workbook (.xlsx) or an IFC model (.ifc).

    Never raises on bad input: every oddity is a finding; a fault leaves no building. IFC needs the
    optional extra ``ifc``; without it the finding says so.
    """
    source = Path(path)
    if source.suffix.lower() in (".ifc", ".ifcxml", ".ifczip"):
        from pinloom.draft.ifc import read_ifc

        return read_ifc(source)
    return read_cobie(source)
