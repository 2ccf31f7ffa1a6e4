"""Hardware for tests, built as records; numbers without a source are invented."""

from dataclasses import replace

from pinloom.core.hardware import (
    BandedDrivers,
    CoreArithmetic,
    CoreKind,
    Depth,
    DriverBand,
    HardwareFormat,
    Reading,
    Stop,
)
from pinloom.core.lengths import from_inch

THOU = from_inch("0.001")


def tiny(
    chambers: int = 3,
    depths: int = 4,
    *,
    least_step: int = 1,
    macs: int = 9,
    lengths: bool = True,
    most: int = 4,
) -> HardwareFormat:
    """A small cylinder: depths numbered from 1, every master pin made, one driver."""
    step = 20 * THOU
    return HardwareFormat(
        name=f"tiny-{chambers}x{depths}",
        title="a cylinder for tests",
        chambers=chambers,
        depths=tuple(
            Depth(
                number=level + 1,
                stamped=str(level + 1),
                root=300 * THOU - level * step,
                bottom_pin=200 * THOU + level * step if lengths else None,
            )
            for level in range(depths)
        ),
        reading=Reading.BOW_TO_TIP,
        stop=Stop.SHOULDER,
        step=step,
        first_cut=200 * THOU,
        spacing=150 * THOU,
        macs=macs,
        least_step=least_step,
        master_pins=tuple(range(1, depths)),
        max_masters=most,
        drivers=BandedDrivers(bands=(DriverBand(label="driver", low=0, high=depths),)),
    )


def core(
    kind: CoreKind,
    *,
    chambers: int = 3,
    depths: int = 4,
    least_step: int = 1,
    control_chambers: tuple[int, ...] | None = None,
) -> HardwareFormat:
    """An interchangeable core: control line `depths` steps above the operating one."""
    base = tiny(chambers, depths, least_step=least_step)
    return replace(
        base,
        name=f"core-{chambers}x{depths}",
        core=CoreArithmetic(
            kind=kind,
            offset=depths,
            stack_total=2 * depths + 3,
            control_chambers=control_chambers or tuple(range(chambers)),
            buildup_sizes=tuple(range(1, 2 * depths + 1)),
        ),
    )


def us_6x10_015() -> HardwareFormat:
    """Six chambers, ten depths, 0.015 in, two-step: enough of it for counting and opening.

    Roots: lockpicking101.com f=9 t=57422. Bottom pins: memory. Step, spacing, two-step:
    kc.allegion.com, "combinating rule 15". MACS: full-size cylinder service manual, p. 5.
    """
    return HardwareFormat(
        name="us-6x10-015",
        title="six chambers, ten depths of 0.015 in",
        chambers=6,
        depths=tuple(
            Depth(
                number=level,
                stamped=str(level),
                root=from_inch("0.335") - level * 15 * THOU,
                bottom_pin=from_inch("0.165") + level * 15 * THOU,
            )
            for level in range(10)
        ),
        reading=Reading.BOW_TO_TIP,
        stop=Stop.SHOULDER,
        step=15 * THOU,
        first_cut=from_inch("0.231"),
        spacing=from_inch("0.1562"),
        macs=7,
        least_step=2,
        master_pins=tuple(range(2, 10)),
        max_masters=4,
        drivers=BandedDrivers(
            bands=(
                DriverBand(label="1", low=0, high=3),
                DriverBand(label="2", low=4, high=6),
                DriverBand(label="3", low=7, high=9),
            )
        ),
    )


def us_6x6_023(chambers: int = 6) -> HardwareFormat:
    """The 0.023 in family: the sixth chamber lies at the bow (0.097 in, others from 0.247 in).

    lockwiki.com keying specification table; six-chamber use derived.
    """
    step = 23 * THOU
    return HardwareFormat(
        name=f"us-{chambers}x6-023",
        title=f"{chambers} chambers, six depths of 0.023 in",
        chambers=chambers,
        depths=tuple(
            Depth(
                number=level + 1,
                stamped=str(level + 1),
                root=329 * THOU - level * step,
                bottom_pin=172 * THOU + level * step,
            )
            for level in range(6)
        ),
        reading=Reading.BOW_TO_TIP,
        stop=Stop.SHOULDER,
        step=step,
        first_cut=(97 if chambers == 6 else 247) * THOU,
        spacing=150 * THOU,
        macs=4,
        least_step=1,
        master_pins=tuple(range(1, 7)),
        max_masters=4,
        drivers=BandedDrivers(bands=(DriverBand(label="driver", low=1, high=6),)),
    )
