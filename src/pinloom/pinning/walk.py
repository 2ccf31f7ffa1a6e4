"""Keys one after another: every bitting of given choices that keeps MACS."""

from collections.abc import Iterator, Sequence

from pinloom.core.bitting import Bitting, Level


def keys_within(choices: Sequence[Sequence[Level]], macs: int) -> Iterator[Bitting]:
    """Every key of the choices that keeps MACS, in the order of the choices, depth first."""
    levels: list[int] = []
    stack = [iter(choices[0])]
    while stack:
        level = next(stack[-1], None)
        if level is None:
            stack.pop()
            if levels:
                levels.pop()
            continue
        if levels and abs(levels[-1] - level) > macs:
            continue
        if len(stack) == len(choices):
            yield (*levels, level)
            continue
        levels.append(level)
        stack.append(iter(choices[len(stack)]))
