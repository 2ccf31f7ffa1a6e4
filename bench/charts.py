"""Generators of access charts: trees, shared doors, cross keys, dense and impossible ones.

Every generator is seeded and gives an ``AccessChart`` whose names say nothing about its structure:
the engine must find it in the marks alone. ``Sketch`` collects doors and their keys under plain
tuples; ``Sketch.chart`` hands out shuffled names.
"""

import random
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field

from pinloom.core.chart import AccessChart, Door, Key

Name = Hashable
TOP = "top"


@dataclass(slots=True)
class Sketch:
    """A chart under construction: ``opens[door]`` = its keys; ``groups`` = doors by group."""

    opens: dict[Name, set[Name]] = field(default_factory=dict)
    groups: dict[Name, list[Name]] = field(default_factory=dict)
    above: dict[Name, tuple[Name, ...]] = field(default_factory=dict)

    def chart(self, seed: int = 0) -> AccessChart:
        """The chart under shuffled names."""
        key_name, door_name = self.names(seed)
        return AccessChart.build(
            [Door(name=door_name[door]) for door in sorted(self.opens, key=repr)],
            [Key(name=name) for name in key_name.values()],
            {door_name[d]: [key_name[k] for k in row] for d, row in self.opens.items()},
        )

    def names(self, seed: int = 0) -> tuple[dict[Name, str], dict[Name, str]]:
        """Shuffled names of keys and of doors."""
        rng = random.Random(f"names {seed}")
        keys = sorted({key for row in self.opens.values() for key in row}, key=repr)
        doors = sorted(self.opens, key=repr)
        key_name = dict(zip(keys, _names("k", len(keys), rng), strict=True))
        return key_name, dict(zip(doors, _names("d", len(doors), rng), strict=True))


def _names(letter: str, count: int, rng: random.Random) -> list[str]:
    names = [f"{letter}{i:06d}" for i in range(count)]
    rng.shuffle(names)
    return names


def tree(sizes: Sequence[object], *, single: int = 0) -> Sketch:
    """A key tree. ``sizes`` nests: an int is a group of that many doors, a sequence a wing of
    groups or wings. ``single`` = doors right under the top master.
    """
    sketch = Sketch()
    _grow(sketch, sizes, (), (TOP,))
    for i in range(single):
        sketch.opens["single", i] = {TOP, ("key", "single", i)}
    return sketch


def _grow(sketch: Sketch, sizes: object, path: tuple[int, ...], above: tuple[Name, ...]) -> None:
    if isinstance(sizes, int):
        sketch.above[path] = above
        sketch.groups[path] = [(path, i) for i in range(sizes)]
        for i in range(sizes):
            sketch.opens[path, i] = {("key", path, i), *above}
        return
    assert isinstance(sizes, Sequence)
    for i, part in enumerate(sizes):
        _grow(sketch, part, (*path, i), (*above, ("master", *path, i)))


def uniform(areas: int, groups: int, doors: int) -> Sketch:
    """``areas`` x ``groups`` x ``doors``."""
    return tree([[doors] * groups] * areas)


def share(sketch: Sketch, doors: int = 1) -> Sketch:
    """Add doors to each group that every key of the group opens."""
    for path, members in sketch.groups.items():
        for number in range(doors):
            keys = {("key", *member) for member in members if isinstance(member, tuple)}
            sketch.opens["common", path, number] = keys | set(sketch.above[path])
    return sketch


def scatter(sketch: Sketch, count: int, rng: random.Random) -> Sketch:
    """Add keys over 2-6 doors anywhere."""
    doors = sorted(sketch.opens, key=repr)
    for number in range(count):
        for door in rng.sample(doors, rng.randint(2, 6)):
            sketch.opens[door].add(("cross", number))
    return sketch


def neighbours(sketch: Sketch, count: int, rng: random.Random) -> Sketch:
    """Add keys as buildings have them: cleaners over 6-15 doors of a group, staff over doors of one
    group or of two neighbouring ones.
    """
    groups = list(sketch.groups.values())
    for number in range(count):
        at = rng.randrange(len(groups))
        if number % 2:
            doors = rng.sample(groups[at], min(len(groups[at]), rng.randint(6, 15)))
        else:
            beside = groups[(at + 1) % len(groups)]
            doors = rng.sample(groups[at], min(len(groups[at]), rng.randint(2, 4)))
            if rng.random() < 0.5:
                doors += rng.sample(beside, min(len(beside), rng.randint(1, 3)))
        for door in doors:
            sketch.opens[door].add(("local", number))
    return sketch


def services(sketch: Sketch, count: int, *, skip: bool = False) -> Sketch:
    """Add keys that open one further door in every group; the masters above open it too, or
    (``skip``) only the group's and the top master.
    """
    for number in range(count):
        for path in sketch.groups:
            above = sketch.above[path]
            masters = {above[0], above[-1]} if skip else set(above)
            sketch.opens["plant", path, number] = {("service", number), *masters}
    return sketch


def without_masters(sketch: Sketch, part: float, rng: random.Random) -> Sketch:
    """Drop the keys of some groups' masters; the groups remain."""
    for path in sketch.groups:
        if rng.random() < part:
            for row in sketch.opens.values():
                row.discard(("master", *path))  # type: ignore[misc]
    sketch.opens = {door: row for door, row in sketch.opens.items() if row}
    return sketch


def second_owner(sketch: Sketch) -> Sketch:
    """A second key over everything the top master opens; each owner has a private door."""
    for row in sketch.opens.values():
        if TOP in row:
            row.add("owner")
    sketch.opens["private", 0] = {TOP}
    sketch.opens["private", 1] = {"owner"}
    return sketch


def outside(sketch: Sketch, count: int) -> Sketch:
    """Doors of their own outside the top master."""
    for number in range(count):
        sketch.opens["outside", number] = {("alone", number)}
    return sketch


def dense(doors: int, keys: int, density: float, seed: int) -> Sketch:
    """Marks at random; every key opens a door and every door has a key."""
    rng = random.Random(f"dense {doors} {keys} {density} {seed}")
    sketch = Sketch()
    for door in range(doors):
        row: set[Name] = {key for key in range(keys) if rng.random() < density}
        sketch.opens[door] = row or {rng.randrange(keys)}
    for key in range(keys):
        if not any(key in row for row in sketch.opens.values()):
            sketch.opens[rng.randrange(doors)].add(key)
    return sketch


def clique(count: int) -> Sketch:
    """``count`` keys that each open every door but one."""
    return Sketch(opens={d: {k for k in range(count) if k != d} for d in range(count)})


def flat(count: int) -> Sketch:
    """``count`` change keys under one master."""
    return Sketch(opens={d: {TOP, ("key", d)} for d in range(count)})


def scattered_tree(
    areas: int, groups: int, doors: int, cross: int, seed: int, *, common: bool = True
) -> Sketch:
    """A uniform tree with a shared door a group and keys over 2-6 doors anywhere."""
    rng = random.Random(f"scattered {areas} {groups} {doors} {cross} {seed}")
    sketch = uniform(areas, groups, doors)
    return scatter(share(sketch) if common else sketch, cross, rng)


def building(
    areas: int, groups: int, doors: int, local: int, service: int, seed: int, *, skip: bool = False
) -> Sketch:
    """A uniform tree with shared doors, keys over neighbouring doors, and service keys."""
    rng = random.Random(f"building {areas} {groups} {doors} {local} {service} {seed}")
    return services(
        neighbours(share(uniform(areas, groups, doors)), local, rng), service, skip=skip
    )


def uneven(kind: int, seed: int, *, hard: bool = False) -> Sketch:
    """Uneven trees: 1 = one group of 400 and twenty of 5; 2 = wings of different depth; 3 = three
    uneven wings. ``hard``: some masters missing, two owners, doors outside the top master.
    """
    rng = random.Random(f"uneven {kind} {seed} {hard}")
    if kind == 1:
        sketch, cross, service = tree([400, *[5] * 20], single=30), 15, 1
    elif kind == 2:
        sketch, cross, service = tree([[[20] * 4] * 3, [60, 20]], single=30), 25, 1
    else:
        wings = [[30, 20, 10, 6], [40, 12, 8, 4, 4], [25, 15, 6]]
        sketch, cross, service = tree(wings, single=20), 30, 2
    services(scatter(share(sketch), cross, rng), service)
    if hard:
        outside(second_owner(without_masters(sketch, 0.35, rng)), 8)
    return sketch


def problem_chart(name: str, seed: int = 0) -> AccessChart:
    """A chart by its short name in the tables of the notes and the bench; T3x4x5 = a tree."""
    if name[0] == "T" and "x" in name:
        areas, groups, doors = (int(part) for part in name[1:].split("x"))
        return uniform(areas, groups, doors).chart(seed)
    makers = {
        "F1": lambda: uniform(3, 4, 30),
        "F2": lambda: share(uniform(3, 4, 30)),
        "F3": lambda: scattered_tree(3, 4, 30, 20, seed),
        "F4": lambda: scattered_tree(4, 5, 50, 40, seed, common=False),
        "F4c": lambda: scattered_tree(4, 5, 50, 40, seed),
        "F5": lambda: uniform(5, 10, 100),
        "F6": lambda: scattered_tree(8, 8, 60, 100, seed),
        "F7": lambda: uniform(10, 20, 100),
        "T20": lambda: uniform(8, 10, 250),
        "R1": lambda: building(3, 4, 20, 20, 2, seed),
        "R2": lambda: building(3, 4, 30, 60, 4, seed),
        "R3": lambda: building(4, 5, 40, 100, 5, seed),
        "G5": lambda: services(share(uniform(3, 4, 30)), 5),
        "B40": lambda: building(3, 4, 30, 40, 0, seed),
        "S1": lambda: building(3, 4, 20, 20, 2, seed, skip=True),
        "S3": lambda: building(4, 5, 40, 100, 5, seed, skip=True),
        "U1": lambda: uneven(1, seed),
        "U2": lambda: uneven(2, seed),
        "U3": lambda: uneven(3, seed),
        "V1": lambda: uneven(1, seed, hard=True),
        "V2": lambda: uneven(2, seed, hard=True),
        "V3": lambda: uneven(3, seed, hard=True),
        "D20": lambda: dense(20, 20, 0.5, seed),
        "D24": lambda: dense(24, 24, 0.5, seed),
        "D30": lambda: dense(30, 30, 0.2, seed),
        "D60": lambda: dense(60, 60, 0.1, seed),
    }
    return makers[name]().chart(seed)
