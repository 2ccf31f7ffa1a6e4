"""``pinloom formats [NAME]``."""

from typing import Any

import click

from pinloom.cli.exits import Exit
from pinloom.cli.screen import Screen, said
from pinloom.core.hardware import BandedDrivers, HardwareFormat, Provenance
from pinloom.core.lengths import Nanometres, in_inch, in_mm


@click.command()
@click.argument("name", required=False)
@click.option("--json", "as_json", is_flag=True, help="Print JSON.")
def command(name: str | None, as_json: bool) -> int:
    """List the hardware formats, or show one with where its numbers come from.

    NAME is a shipped format or the path of a format file.
    """
    from pinloom.workflow.formats import all_formats, one_format

    screen = Screen(silent=as_json)
    if name is None:
        made_all = all_formats()
        if as_json:
            screen.json([_figures(made) for made in made_all])
            return Exit.DONE
        _list(screen, made_all)
        return Exit.DONE
    made, findings = one_format(name)
    if made is None:
        return screen.refuse(findings)
    if as_json:
        screen.json({**_figures(made), "findings": [said(one) for one in findings]})
        return Exit.DONE
    _show(screen, made)
    screen.findings(findings)
    return Exit.DONE


def _list(screen: Screen, formats: tuple[HardwareFormat, ...]) -> None:
    screen.table(
        ("format", "chambers", "depths", "step, inch", "MACS", "apart", "core", "memory"),
        [
            (
                made.name,
                str(made.chambers),
                f"{made.depths[0].number}-{made.depths[-1].number}",
                in_inch(made.step),
                str(made.macs),
                str(made.least_step),
                made.core.kind.value.split()[0] if made.core else "",
                str(len(made.from_memory()) or ""),
            )
            for made in formats
        ],
        right=("chambers", "depths", "step, inch", "MACS", "apart", "memory"),
    )
    screen.say(
        "apart: steps between cuts that must not interchange. memory: how many fields no source "
        "confirms; measure them on the hardware in hand. pinloom formats NAME shows one in full."
    )


def _show(screen: Screen, made: HardwareFormat) -> None:
    screen.heading(made.name)
    screen.say(made.title)
    screen.facts(
        [
            ("chambers", f"{made.chambers}, read {made.reading.value}"),
            ("stop", made.stop.value),
            ("first cut", f"{_both(made.first_cut)} from the stop"),
            ("spacing", _both(made.spacing)),
            ("step", _both(made.step)),
            ("MACS", f"{made.macs} steps between neighbouring cuts"),
            ("steps apart", f"{made.least_step} between cuts that must not interchange"),
            ("master pins", " ".join(map(str, made.master_pins)) + " steps are made"),
            ("in a chamber", f"at most {made.max_masters} master pins"),
            ("drivers", _drivers(made)),
            *_core(made),
        ]
    )
    screen.heading("Depths")
    screen.table(
        ("depth", "stamped", "root, inch", "mm", "bottom pin, inch", "mm "),
        [
            (
                str(depth.number),
                depth.stamped,
                in_inch(depth.root),
                in_mm(depth.root),
                "" if depth.bottom_pin is None else in_inch(depth.bottom_pin),
                "" if depth.bottom_pin is None else in_mm(depth.bottom_pin),
            )
            for depth in made.depths
        ],
        right=("depth", "stamped", "root, inch", "mm", "bottom pin, inch", "mm "),
    )
    screen.heading("Where the numbers come from")
    for source, fields in _sources(made).items():
        provenance, text = source
        screen.say(f"{provenance.value}: {', '.join(fields)}")
        if text:
            screen.say(text, indent=4)


def _sources(made: HardwareFormat) -> dict[tuple[Provenance, str], list[str]]:
    found: dict[tuple[Provenance, str], list[str]] = {}
    for origin in made.origins:
        found.setdefault((origin.provenance, origin.source), []).append(origin.field)
    order = list(Provenance)
    return dict(sorted(found.items(), key=lambda item: order.index(item[0][0])))


def _core(made: HardwareFormat) -> list[tuple[str, str]]:
    if made.core is None:
        return []
    core = made.core
    chambers = " ".join(str(chamber + 1) for chamber in core.control_chambers)
    return [
        ("core", f"{core.kind.value}; control acts in chambers {chambers}"),
        ("build-up", f"control + {core.offset} - deepest cut; stack total {core.stack_total}"),
    ]


def _drivers(made: HardwareFormat) -> str:
    if not isinstance(made.drivers, BandedDrivers):
        return f"balanced: number = {made.drivers.total} - deepest cut"
    bands = []
    for band in made.drivers.bands:
        length = "" if band.length is None else f", {in_inch(band.length)} in"
        bands.append(f"{band.label} for totals {band.low}-{band.high}{length}")
    return "; ".join(bands)


def _both(length: Nanometres) -> str:
    return f"{in_inch(length)} in ({in_mm(length, 4)} mm)"


def _figures(made: HardwareFormat) -> dict[str, Any]:
    return {
        "name": made.name,
        "title": made.title,
        "chambers": made.chambers,
        "reading": made.reading.value,
        "stop": made.stop.value,
        "step_nm": made.step,
        "first_cut_nm": made.first_cut,
        "spacing_nm": made.spacing,
        "macs": made.macs,
        "least_step": made.least_step,
        "master_pins": list(made.master_pins),
        "max_masters": made.max_masters,
        "core": made.core.kind.value if made.core else None,
        "depths": [
            {
                "number": depth.number,
                "stamped": depth.stamped,
                "root_nm": depth.root,
                "bottom_pin_nm": depth.bottom_pin,
            }
            for depth in made.depths
        ],
        "origins": [
            {"field": o.field, "provenance": o.provenance.value, "source": o.source}
            for o in made.origins
        ],
    }
