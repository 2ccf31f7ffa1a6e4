"""The proof agrees with a plain simulator on every small job."""

from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.core.chart import AccessChart, Door, Key
from pinloom.core.job import FaultKind, ProofReport
from pinloom.core.stacks import PinnedCylinder, PinStack
from pinloom.proof import prove
from tests.proof.formats import tiny
from tests.proof.jobs import pin_chart
from tests.proof.simulator import as_set, simulate, tightest
from tests.proof.strategies import Case, cases

_BAD = FaultKind.BAD_STACK


def _report(case: Case, pinning: tuple[PinnedCylinder, ...] | None = None) -> ProofReport:
    formats = [case.made] * len(case.chart.doors)
    return prove(
        case.chart, case.made, formats, case.bittings, case.controls, pinning or case.pinning
    )


def _agrees(case: Case) -> None:
    report = _report(case)
    told = {fault for fault in as_set(report) if fault[0] is not _BAD}
    assert told == simulate(case.chart, case.made, case.bittings, case.controls, case.pinning)
    margin = report.tightest
    seen = None if margin is None else (margin.chambers, margin.steps)
    assert seen == tightest(case.chart, case.made, case.bittings, case.pinning)


@settings(max_examples=400)
@given(cases())
def test_agrees_with_the_simulator(case: Case) -> None:
    """Same faults and same tightest margin as the simulator, plain cylinders."""
    _agrees(case)


@settings(max_examples=400)
@given(cases(cores=True))
def test_agrees_with_the_simulator_on_cores(case: Case) -> None:
    """Same faults as the simulator towards both shear lines, small and large cores."""
    _agrees(case)


def _mutated(
    case: Case, door: int, chamber: int, pin: int, size: int
) -> tuple[PinnedCylinder, ...]:
    """The pinning with one pin swapped. Pin 0 = bottom, then masters, then the build-up pin."""
    cylinder = case.pinning[door]
    stack = cylinder.chambers[chamber]
    assert stack is not None
    if pin == 0:
        changed = replace(stack, bottom=size % case.made.levels)
    elif pin <= len(stack.masters):
        masters = (*stack.masters[: pin - 1], size, *stack.masters[pin:])
        changed = replace(stack, masters=masters)
    else:
        changed = replace(stack, buildup=size)
    chambers = (*cylinder.chambers[:chamber], changed, *cylinder.chambers[chamber + 1 :])
    swapped = replace(cylinder, chambers=chambers)
    return (*case.pinning[:door], swapped, *case.pinning[door + 1 :])


@settings(max_examples=400)
@given(st.booleans().flatmap(lambda c: cases(cores=c)), st.data())
def test_notices_every_swapped_pin_that_matters(case: Case, data: st.DataObject) -> None:
    """Swap any one pin for another length: when who-opens-what changed, the report changed too;
    and the fingerprint changes with every swap.
    """
    places = [
        (d, c, pin)
        for d, cylinder in enumerate(case.pinning)
        for c, stack in enumerate(cylinder.chambers)
        if stack is not None
        for pin in range(1 + len(stack.masters) + (stack.buildup is not None))
    ]
    if not places:
        return
    door, chamber, pin = data.draw(st.sampled_from(places))
    size = data.draw(st.integers(1, 2 * case.made.levels))
    pinning = _mutated(case, door, chamber, pin, size)
    before = simulate(case.chart, case.made, case.bittings, case.controls, case.pinning)
    after = simulate(case.chart, case.made, case.bittings, case.controls, pinning)
    one, two = _report(case), _report(case, pinning)
    if before != after:
        assert as_set(one) != as_set(two)
        assert {f for f in as_set(two) if f[0] is not _BAD} == after
    assert (one.fingerprint == two.fingerprint) == (pinning == case.pinning)


def test_generator_is_not_trivial() -> None:
    """Random jobs hold faults of every kind, and proved jobs as well."""
    kinds: set[FaultKind] = set()
    proved = 0
    master_pins = 0

    @settings(max_examples=300)
    @given(st.booleans().flatmap(lambda c: cases(cores=c)))
    def collect(case: Case) -> None:
        nonlocal proved, master_pins
        report = _report(case)
        kinds.update(fault.kind for fault in report.faults)
        proved += report.proved
        master_pins += sum(cylinder.master_pins() for cylinder in case.pinning)

    collect()
    assert kinds == set(FaultKind) - {_BAD}  # bad stacks have tests of their own
    assert proved > 5
    assert master_pins > 50


def test_mutation_of_a_proved_job_is_a_fault() -> None:
    """Swapping any pin of a proved one-door job for any other length makes a fault."""
    made = tiny(3, 4)
    chart = AccessChart.build([Door(name="d")], [Key(name="a"), Key(name="b")], {"d": ["a", "b"]})
    bittings = ((0, 1, 2), (2, 1, 3))
    case = Case(
        chart=chart, made=made, bittings=bittings, controls=(), pinning=pin_chart(chart, bittings)
    )
    assert _report(case).proved
    for chamber, stack in enumerate(case.pinning[0].chambers):
        assert isinstance(stack, PinStack)
        for pin in range(1 + len(stack.masters)):
            for size in range(4):
                pinning = _mutated(case, 0, chamber, pin, size)
                assert _report(case, pinning).proved == (pinning == case.pinning)
