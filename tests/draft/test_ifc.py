"""An IFC model, built here, gives the same kind of building as a COBie workbook."""

from pathlib import Path
from typing import Any

import pytest

from pinloom.draft import Grouping, make_schedule, read_building
from pinloom.draft.judged import Apart, Egress, Plan, Why
from tests.draft.kit import codes

LACKING = "no IFC library: install the package's extra ifc (ifcopenshell)"


class Model:
    """A model with the handful of things that matter to doors."""

    def __init__(self, schema: str) -> None:
        self.ifc: Any = pytest.importorskip("ifcopenshell", reason=LACKING)
        guid: Any = pytest.importorskip("ifcopenshell.guid", reason=LACKING)
        self._new = guid.new
        self.file = self.ifc.file(schema=schema)

    def make(self, kind: str, **values: Any) -> Any:
        """A rooted thing with an identifier of its own."""
        return self.file.create_entity(kind, GlobalId=self._new(), **values)

    def storey(self, name: str, height: float) -> Any:
        """A floor."""
        return self.make("IfcBuildingStorey", Name=name, Elevation=height)

    def space(self, name: str, title: str, storey: Any | None, category: str = "") -> Any:
        """A room on a floor, classified."""
        space = self.make("IfcSpace", Name=name, LongName=title)
        if storey is not None:
            self.make("IfcRelAggregates", RelatingObject=storey, RelatedObjects=[space])
        if category:
            number, text = category.split(": ")
            head = "Identification" if self.file.schema == "IFC4" else "ItemReference"
            reference = self.file.create_entity(
                "IfcClassificationReference", Name=text, **{head: number}
            )
            self.make(
                "IfcRelAssociatesClassification",
                RelatedObjects=[space],
                RelatingClassification=reference,
            )
        return space

    def door(self, name: str, *spaces: Any, kind: Any | None = None, **facts: bool) -> Any:
        """A door that bounds spaces, of a type, with properties of Pset_DoorCommon."""
        door = self.make("IfcDoor", Name=name)
        for space in spaces:
            self.make(
                "IfcRelSpaceBoundary",
                RelatingSpace=space,
                RelatedBuildingElement=door,
                PhysicalOrVirtualBoundary="PHYSICAL",
                InternalOrExternalBoundary="INTERNAL",
            )
        if kind is not None:
            self.make("IfcRelDefinesByType", RelatedObjects=[door], RelatingType=kind)
        if facts:
            properties = [
                self.file.create_entity(
                    "IfcPropertySingleValue",
                    Name=fact,
                    NominalValue=self.file.create_entity("IfcBoolean", value),
                )
                for fact, value in facts.items()
            ]
            table = self.make("IfcPropertySet", Name="Pset_DoorCommon", HasProperties=properties)
            self.make(
                "IfcRelDefinesByProperties",
                RelatedObjects=[door],
                RelatingPropertyDefinition=table,
            )
        return door

    def zone(self, name: str, *spaces: Any) -> None:
        """A department."""
        zone = self.make("IfcZone", Name=name)
        self.make("IfcRelAssignsToGroup", RelatedObjects=list(spaces), RelatingGroup=zone)

    def write(self, folder: Path) -> Path:
        """The model as a file."""
        path = folder / "model.ifc"
        self.file.write(str(path))
        return path


def loft(schema: str) -> Model:
    """A hall, an office, a store behind it, a toilet and a loft upstairs."""
    model = Model(schema)
    model.make("IfcBuilding", Name="Alder Quay")
    upper, ground = model.storey("Upper", 3.2), model.storey("Ground", 0.0)
    hall = model.space("001", "Hall", ground, "13-85 11 11: Corridor")
    office = model.space("002", "Office", ground)
    store = model.space("003", "Sail store", ground)
    toilet = model.space("004", "WC", ground)
    stair = model.space("006", "Stair", ground)
    attic = model.space("101", "Loft", upper)
    model.zone("Trade", office, store)
    kind = model.make("IfcDoorType" if schema == "IFC4" else "IfcDoorStyle", Name="Plain")
    model.door("D1", hall, kind=kind, IsExternal=True)
    model.door("D2", hall, office, kind=kind)
    model.door("D3", office, store)
    model.door("D4", hall, toilet)
    model.door("D5", hall, stair, FireExit=True)
    model.door("D6", stair, attic)
    return model


@pytest.mark.parametrize("schema", ["IFC2X3", "IFC4"])
def test_a_small_model(tmp_path: Path, schema: str) -> None:
    """Floors, rooms, departments and both sides of doors come out, and the draft follows."""
    read = read_building(loft(schema).write(tmp_path))
    made = read.building
    assert made is not None, codes(read)
    assert (made.name, made.source, made.floors) == ("Alder Quay", "IFC", ("Ground", "Upper"))
    rooms = {room.name: room for room in made.rooms}
    assert (rooms["001"].category, rooms["001"].title) == ("13-85 11 11: Corridor", "Hall")
    assert (rooms["101"].floor, rooms["002"].zones) == ("Upper", ("Trade",))
    assert {door.name: door.sides for door in made.doors} == {
        "D1": ("001",),
        "D2": ("001", "002"),
        "D3": ("002", "003"),
        "D4": ("001", "004"),
        "D5": ("001", "006"),
        "D6": ("006", "101"),
    }
    plan = Plan(made)
    judged = {door.name: plan.judge(door) for door in made.doors}
    assert (judged["D1"].why, judged["D1"].egress) == (Why.OUTDOORS, Egress.EXIT)
    assert judged["D4"].apart is Apart.TOILET
    assert judged["D6"].egress is Egress.STAIR
    schedule = make_schedule(made, Grouping.ZONE, services=False)
    assert {d.judged.door.name: d.keys for d in schedule.doors} == {
        "D1": ("ENTRANCE",),
        "D2": ("AA1",),
        "D3": ("AA2",),
        "D6": ("A1",),
    }


def test_oddities_of_a_model(tmp_path: Path) -> None:
    """Doors without rooms, names used twice or missing, rooms of no floor: each is said."""
    model = loft("IFC4")
    hall = next(s for s in model.file.by_type("IfcSpace") if s.Name == "001")
    model.door("D9")
    model.door("D2", hall)
    model.door("", hall)
    model.space("002", "Again", None)
    model.space("", "", None)
    model.space("009", "Floating", None)
    read = read_building(model.write(tmp_path))
    assert set(codes(read)) >= {
        "draft-door-nowhere",
        "draft-door-twice",
        "draft-name-missing",
        "draft-name-twice",
        "draft-room-floor",
    }
    assert read.building is not None
    assert "D2 (2)" in {door.name for door in read.building.doors}


def test_models_that_are_none(tmp_path: Path) -> None:
    """A missing, damaged or empty model is a fault."""
    model = Model("IFC4")
    assert codes(read_building(tmp_path / "none.ifc")) == ["draft-file-missing"]
    path = tmp_path / "bad.ifc"
    path.write_text("ISO-10303-21;\nHEADER;", encoding="utf-8")
    assert set(codes(read_building(path))) <= {"draft-ifc-damaged", "draft-no-doors"} | {
        "draft-sheet-empty"
    }
    assert read_building(path).building is None
    assert "draft-no-doors" in codes(read_building(model.write(tmp_path)))


def test_without_the_library(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the extra is not installed, the finding says how to get it."""
    monkeypatch.setitem(__import__("sys").modules, "ifcopenshell", None)
    assert codes(read_building(tmp_path / "any.ifc")) == ["draft-ifc-extra"]
