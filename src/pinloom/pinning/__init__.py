"""Chart, formats and cuts to the pins of every cylinder, parts, and what the bench needs."""

from pinloom.pinning.advice import progressives, top_master_advice
from pinloom.pinning.assembly import assembly_order, handled, trays
from pinloom.pinning.build import stack_for, with_driver
from pinloom.pinning.construction import (
    BuildingState,
    Construction,
    ConstructionMethod,
    changeover,
    construct,
)
from pinloom.pinning.controls import (
    Chosen,
    check_controls,
    choose_controls,
    control_name,
    control_of,
    core_groups,
)
from pinloom.pinning.cutting import key_cutting, near_macs
from pinloom.pinning.decode import Decoded, Measured, decode, read_pins
from pinloom.pinning.faults import sign_off, stack_faults
from pinloom.pinning.fit import can_check, check_fit, highest_peak, stack_length
from pinloom.pinning.job import Pinned, pin_job
from pinloom.pinning.kit import (
    Kit,
    Short,
    kind_named,
    master_shortage,
    master_sizes,
    parts_made,
    short_of,
    shortage_bound,
    size_named,
)
from pinloom.pinning.parts import count_cylinder, describe, parts
from pinloom.pinning.purchase import Purchase, Verdict, fewest_sizes
from pinloom.pinning.special import keyed_alike, operating_keys, special_cylinders

__all__ = [
    "BuildingState",
    "Chosen",
    "Construction",
    "ConstructionMethod",
    "Decoded",
    "Kit",
    "Measured",
    "Pinned",
    "Purchase",
    "Short",
    "Verdict",
    "assembly_order",
    "can_check",
    "changeover",
    "check_controls",
    "check_fit",
    "choose_controls",
    "construct",
    "control_name",
    "control_of",
    "core_groups",
    "count_cylinder",
    "decode",
    "describe",
    "fewest_sizes",
    "handled",
    "highest_peak",
    "key_cutting",
    "keyed_alike",
    "kind_named",
    "master_shortage",
    "master_sizes",
    "near_macs",
    "operating_keys",
    "parts",
    "parts_made",
    "pin_job",
    "progressives",
    "read_pins",
    "short_of",
    "shortage_bound",
    "sign_off",
    "size_named",
    "special_cylinders",
    "stack_faults",
    "stack_for",
    "stack_length",
    "top_master_advice",
    "trays",
    "with_driver",
]
