"""Short words for kinds of things, the same on every screen and sheet."""

from pinloom.core.bench import PartKind
from pinloom.core.job import ClaimKind, FaultKind

FAULTS = {
    FaultKind.OPENS: "opens, and shall not",
    FaultKind.BLOCKED: "shall open, and does not",
    FaultKind.REACHES_CONTROL: "turns the control sleeve",
    FaultKind.CONTROL_OPERATES: "control key operates the door",
    FaultKind.CONTROL_BLOCKED: "control key does not release the core",
    FaultKind.BAD_STACK: "pins cannot be",
}
CLAIMS = {
    ClaimKind.PROVED_LEAST: "proved to be the least",
    ClaimKind.BOUNDED: "the least possible is {bound} or more",
    ClaimKind.BEST_FOUND: "the best found; no bound is known",
}
PARTS = {
    PartKind.BOTTOM: "bottom pin",
    PartKind.MASTER: "master pin, steps",
    PartKind.BUILDUP: "build-up pin, steps",
    PartKind.DRIVER: "driver",
    PartKind.SECURITY_DRIVER: "security driver",
    PartKind.SPRING: "spring",
}
