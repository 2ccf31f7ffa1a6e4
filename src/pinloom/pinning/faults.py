"""What is wrong or remarkable with the pins of one cylinder, as they would lie on the bench."""

from collections.abc import Iterator
from dataclasses import replace

from pinloom.core.findings import Finding, caution, fault
from pinloom.core.hardware import HardwareFormat
from pinloom.core.lengths import Nanometres, from_inch, in_inch
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.pinning.drivers import as_security, is_control_chamber, security_driver

# Common practice, no source: one master pin is normal, two are justified, more need a signature.
MASTERS_WITHOUT_SIGNATURE = 2

# Ours: the smallest master or build-up pin; thinner ones tilt and wedge.
THINNEST_PIN: Nanometres = from_inch("0.018")

Where = tuple[str, int]  # door, chamber counted from 1


def stack_faults(made: HardwareFormat, cylinder: PinnedCylinder) -> tuple[Finding, ...]:
    """Pins that are not made or must not stand where they do, in chamber order."""
    return tuple(
        found
        for chamber, stack in enumerate(cylinder.chambers)
        if stack is not None
        for found in _of_stack(made, cylinder.door, chamber, stack)
    )


def sign_off(cylinder: PinnedCylinder) -> tuple[Finding, ...]:
    """A caution naming every chamber with more master pins than go without a signature."""
    many = [
        (chamber, len(stack.masters))
        for chamber, stack in enumerate(cylinder.chambers, start=1)
        if stack is not None and len(stack.masters) > MASTERS_WITHOUT_SIGNATURE
    ]
    if not many:
        return ()
    return (
        caution(
            "pinning-sign-off",
            door=cylinder.door,
            chambers=", ".join(f"{chamber} ({count})" for chamber, count in many),
        ),
    )


def _of_stack(made: HardwareFormat, door: str, chamber: int, stack: PinStack) -> Iterator[Finding]:
    where = (door, chamber + 1)
    for master in stack.masters:
        if master not in made.master_pins:
            yield _fault("pinning-no-such-master", where, size=master, made=_steps(made))
    if len(stack.masters) > made.max_masters:
        yield _fault(
            "pinning-too-many-masters", where, count=len(stack.masters), most=made.max_masters
        )
    if stack.bottom + sum(stack.masters) >= made.levels:
        yield _fault("pinning-too-deep", where, deepest=made.depths[-1].number)
        return
    yield from _buildup(made, where, chamber, stack)
    yield from _driver(made, where, chamber, stack)


def _buildup(
    made: HardwareFormat, where: Where, chamber: int, stack: PinStack
) -> Iterator[Finding]:
    core, size = made.core, stack.buildup
    if core is None or not is_control_chamber(made, chamber):
        if size is not None:
            yield _fault("pinning-stray-buildup", where, size=size)
        return
    if size is None:
        return  # the missing control key is said once, for the whole group
    control = stack.bottom + sum(stack.masters) + size - core.offset
    if not 0 <= control < made.levels:
        # lockpicking101.com forum f=9 t=50294, March 2011: such a stack implies a cut nobody makes.
        yield _fault(
            "pinning-impossible-control",
            where,
            size=size,
            number=control + made.depths[0].number,
            low=made.depths[0].number,
            high=made.depths[-1].number,
        )
    if size * made.step < THINNEST_PIN:
        yield _fault(
            "pinning-thin-buildup",
            where,
            size=size,
            length=in_inch(max(size, 0) * made.step),
            least=in_inch(THINNEST_PIN),
        )
    elif size not in core.buildup_sizes:
        made_sizes = " ".join(map(str, core.buildup_sizes))
        yield _fault("pinning-no-such-buildup", where, size=size, made=made_sizes)


def _driver(made: HardwareFormat, where: Where, chamber: int, stack: PinStack) -> Iterator[Finding]:
    if is_control_chamber(made, chamber) and stack.buildup is None:
        return
    if not stack.driver:
        yield _fault("pinning-no-driver", where)
        return
    special = as_security(made, stack.driver)
    if special and security_driver(made, chamber, stack, special.replaces) != special.label:
        yield _fault("pinning-security-driver", where, label=stack.driver)


def _fault(code: str, where: Where, **values: object) -> Finding:
    door, chamber = where
    found = fault(code, door=door, chamber=chamber)
    more = tuple((name, str(value)) for name, value in values.items())
    return replace(found, values=found.values + more)


def _steps(made: HardwareFormat) -> str:
    return " ".join(map(str, made.master_pins))
