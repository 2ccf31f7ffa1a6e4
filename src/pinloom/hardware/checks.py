"""Sanity rules of a format file: what cannot be, all of it at once.

Rules. A rule looks only at values that were read; a missing value is one finding of its own and
silences the rules that need it. What is merely doubtful is a caution and stands in ``cautions``.
"""

import re
from collections.abc import Callable, Iterator
from dataclasses import asdict, replace
from itertools import pairwise

from pinloom.core.findings import Finding, Place, fault
from pinloom.core.lengths import Nanometres, from_inch, in_inch
from pinloom.hardware.raw import ONE_DRIVER, RawCore, RawFormat

# Smallest master pin: ours; trade advice avoids 0.015 in, which can tilt or wedge. The same bound
# holds for the least step, because a key nearer than that may open (clearance and wear).
THINNEST_PIN: Nanometres = from_inch("0.018")

MOST_CHAMBERS = 12
_NAME = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")

_NEEDED = (
    "name",
    "unit",
    "chambers",
    "reading",
    "stop",
    "step",
    "first_cut",
    "spacing",
    "macs",
    "least_step",
    "masters",
)
_POSITIVE = ("step", "first_cut", "spacing", "max_masters")

Rule = Callable[[RawFormat], Iterator[Finding]]


def check(raw: RawFormat, place: Place) -> tuple[Finding, ...]:
    """Every breach of the rules, in the order of the rules."""
    return tuple(replace(found, place=place) for rule in RULES for found in rule(raw))


def _bad(field: str, value: object, code: str, **values: object) -> Finding:
    found = fault(code, field=field, value=value)
    more = tuple((name, str(text)) for name, text in values.items())
    return replace(found, values=found.values + more)


def _inch(lengths: list[Nanometres] | Nanometres) -> str:
    listed = lengths if isinstance(lengths, list) else [lengths]
    return " ".join(in_inch(length) for length in listed) + " in"


def _complete(raw: RawFormat) -> Iterator[Finding]:
    missing = [name for name in _NEEDED if getattr(raw, name) is None]
    missing += [f"depths.{n}" for n in ("numbers", "roots") if getattr(raw.depths, n) is None]
    if raw.core is not None:
        fields = ("kind", "offset", "stack_total", "buildups")
        missing += [f"core.{name}" for name in fields if getattr(raw.core, name) is None]
    for name in missing:
        yield fault("hardware-missing-field", field=name)


def _name(raw: RawFormat) -> Iterator[Finding]:
    if raw.name is not None and not _NAME.fullmatch(raw.name):
        yield _bad("name", raw.name, "hardware-bad-name")


def _sizes(raw: RawFormat) -> Iterator[Finding]:
    for name in _POSITIVE:
        value = getattr(raw, name)
        if value is not None and value <= 0:
            yield _bad(name, value, "hardware-not-positive")
    for name, value in asdict(raw.dimensions).items():
        if value is not None and value <= 0:
            yield _bad(f"dimensions.{name}", value, "hardware-not-positive")
    if raw.chambers is not None and not 1 <= raw.chambers <= MOST_CHAMBERS:
        yield _bad("chambers", raw.chambers, "hardware-out-of-range", low=1, high=MOST_CHAMBERS)
    angle = raw.dimensions.cut_angle
    if angle is not None and angle >= 180:
        yield _bad("dimensions.cut_angle", angle, "hardware-out-of-range", low=1, high=179)


def _side_by_side(raw: RawFormat) -> Iterator[Finding]:
    numbers = raw.depths.numbers
    if numbers is None:
        return
    if len(numbers) < 2:
        yield _bad("depths.numbers", len(numbers), "hardware-too-few-depths")
    for name in ("stamped", "roots", "pins"):
        listed = getattr(raw.depths, name)
        if listed is not None and len(listed) != len(numbers):
            yield _bad(f"depths.{name}", len(listed), "hardware-list-length", wanted=len(numbers))


def _numbers(raw: RawFormat) -> Iterator[Finding]:
    numbers = raw.depths.numbers
    if numbers is None or len(numbers) < 2:
        return
    direction = 1 if numbers[1] > numbers[0] else -1
    if any(b - a != direction for a, b in pairwise(numbers)) or min(numbers) < 0:
        yield _bad("depths.numbers", " ".join(map(str, numbers)), "hardware-number-order")
    elif direction < 0 and (raw.core is not None or (raw.drivers and raw.drivers.total)):
        # Sums of pin numbers mean a height only where a larger number is a longer pin.
        yield _bad("depths.numbers", " ".join(map(str, numbers)), "hardware-number-sums")
    stamped = raw.depths.stamped
    if stamped is not None:
        bad = [s for i, s in enumerate(stamped) if not s.strip() or s in stamped[:i]]
        if bad or any(re.search(r"[\s,;/\-?*]", s) for s in stamped):
            yield _bad("depths.stamped", " ".join(stamped), "hardware-stamped")


def _roots(raw: RawFormat) -> Iterator[Finding]:
    roots, step = raw.depths.roots, raw.step
    if roots is None:
        return
    for item, root in enumerate(roots, start=1):
        if root <= 0:
            yield _bad(f"depths.roots, item {item}", _inch(root), "hardware-not-positive")
    if step is None or step <= 0:
        return
    for item, (shallow, deep) in enumerate(pairwise(roots), start=2):
        if shallow - deep != step:
            yield _bad(
                f"depths.roots, item {item}",
                _inch(deep),
                "hardware-root-step",
                wanted=_inch(shallow - step),
            )


def _pin_constant(raw: RawFormat) -> Iterator[Finding]:
    roots, pins = raw.depths.roots, raw.depths.pins
    if roots is None or pins is None or not roots or not pins:
        return
    constant = roots[0] + pins[0]
    for item, (root, pin) in enumerate(zip(roots, pins, strict=False), start=1):
        if root + pin != constant:
            yield _bad(
                f"depths.pins, item {item}",
                _inch(pin),
                "hardware-pin-constant",
                wanted=_inch(constant - root),
            )


def _macs(raw: RawFormat) -> Iterator[Finding]:
    if raw.macs is None or raw.depths.numbers is None:
        return
    most = len(raw.depths.numbers) - 1
    if not 1 <= raw.macs <= most:
        yield _bad("macs", raw.macs, "hardware-out-of-range", low=1, high=most)


def _least_step(raw: RawFormat) -> Iterator[Finding]:
    if raw.least_step is None:
        return
    most = len(raw.depths.numbers or ()) - 1
    if raw.least_step < 1 or (most > 0 and raw.least_step > most):
        yield _bad("least_step", raw.least_step, "hardware-out-of-range", low=1, high=max(most, 1))
    elif raw.step and raw.step * raw.least_step < THINNEST_PIN:
        yield _bad("least_step", raw.least_step, "hardware-least-step", least=_inch(THINNEST_PIN))


def _masters(raw: RawFormat) -> Iterator[Finding]:
    masters, step = raw.masters, raw.step
    if masters is None:
        return
    if not masters:
        yield _bad("masters", "", "hardware-no-masters")
    if any(b <= a for a, b in pairwise(masters)):
        yield _bad("masters", _inch(masters), "hardware-not-ascending")
    for item, master in enumerate(masters, start=1):
        if step and (master <= 0 or master % step):
            yield _bad(
                f"masters, item {item}", _inch(master), "hardware-not-multiple", step=_inch(step)
            )
        if master < THINNEST_PIN:
            yield _bad(
                f"masters, item {item}",
                _inch(master),
                "hardware-thin-pin",
                least=_inch(THINNEST_PIN),
            )


def _drivers(raw: RawFormat) -> Iterator[Finding]:
    drivers, numbers = raw.drivers, raw.depths.numbers
    if drivers is None:
        return
    if (drivers.bands is None) == (drivers.total is None):
        yield _bad("drivers", "", "hardware-driver-kind")
    labels = [band.label for band in drivers.bands or ()]
    if len(set(labels)) != len(labels) or any(not label.strip() for label in labels):
        yield _bad("drivers.bands", " ".join(labels), "hardware-driver-labels")
    if numbers is None or not numbers:
        return
    if drivers.total is not None and drivers.total <= max(numbers):
        yield _bad("drivers.total", drivers.total, "hardware-total-short", deepest=max(numbers))
    for number in sorted(numbers) if drivers.bands is not None else ():
        serving = [band.label for band in drivers.bands or () if band.low <= number <= band.high]
        if len(serving) != 1:
            yield _bad("drivers.bands", " ".join(serving), "hardware-driver-bands", total=number)


def _core(raw: RawFormat) -> Iterator[Finding]:
    core = raw.core
    if core is None:
        return
    if core.control_chambers is not None and raw.chambers is not None:
        yield from _control_chambers(core, core.control_chambers, raw.chambers)
    numbers = raw.depths.numbers
    if not numbers or core.offset is None:
        return
    if core.offset < len(numbers):
        # Otherwise the control line of one key would be the operating line of another.
        yield _bad("core.offset", core.offset, "hardware-core-offset", least=len(numbers))
    if core.stack_total is not None and core.stack_total - core.offset - max(numbers) < 1:
        least = core.offset + max(numbers) + 1
        yield _bad("core.stack_total", core.stack_total, "hardware-core-total", least=least)
    yield from _buildups(core, raw.step)


def _control_chambers(core: RawCore, listed: list[int], chambers: int) -> Iterator[Finding]:
    text = " ".join(map(str, listed))
    every = list(range(1, chambers + 1))
    if not listed or sorted(set(listed)) != listed or not set(listed) <= set(every):
        yield _bad("core.control_chambers", text, "hardware-chamber-list", chambers=chambers)
    elif core.kind == "small format" and listed != every:
        yield _bad("core.control_chambers", text, "hardware-small-core-chambers")


def _buildups(core: RawCore, step: Nanometres | None) -> Iterator[Finding]:
    buildups = core.buildups
    if buildups is None:
        return
    if not buildups or buildups[0] < 1 or any(b <= a for a, b in pairwise(buildups)):
        yield _bad("core.buildups", " ".join(map(str, buildups)), "hardware-not-ascending")
    elif step and buildups[0] * step < THINNEST_PIN:
        yield _bad("core.buildups", buildups[0], "hardware-thin-pin", least=_inch(THINNEST_PIN))


def _security(raw: RawFormat) -> Iterator[Finding]:
    labels = {ONE_DRIVER}
    if raw.drivers is not None:
        labels = {band.label for band in raw.drivers.bands or ()}
    balanced = raw.drivers is not None and raw.drivers.total is not None
    for item, driver in enumerate(raw.security_drivers, start=1):
        name = f"security_drivers, item {item}"
        if raw.chambers and not set(driver.chambers) <= set(range(1, raw.chambers + 1)):
            text = " ".join(map(str, driver.chambers))
            yield _bad(name, text, "hardware-chamber-list", chambers=raw.chambers)
        if driver.replaces not in labels and not (balanced and driver.replaces.isdecimal()):
            yield _bad(name, driver.replaces, "hardware-no-such-driver")


RULES: tuple[Rule, ...] = (
    _complete,
    _name,
    _sizes,
    _side_by_side,
    _numbers,
    _roots,
    _pin_constant,
    _macs,
    _least_step,
    _masters,
    _drivers,
    _core,
    _security,
)
