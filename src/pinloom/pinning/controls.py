"""Control keys of interchangeable cores."""

from collections.abc import Sequence

from pinloom.core.job import ControlKey


def control_of(controls: Sequence[ControlKey], group: str) -> ControlKey | None:
    """The control key of a core group; a job's only key, without a group, serves every core."""
    for control in controls:
        if control.group == group or (len(controls) == 1 and not control.group):
            return control
    return None
