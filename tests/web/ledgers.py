"""A ledger for the tests of the desk: the published chart's job, approved, with a few keys cut."""

from functools import partial
from pathlib import Path

from pinloom.ledger.database import where
from pinloom.workflow import ledger as work
from pinloom.workflow import ledgeracts as acts
from tests.ledger import kit

SYSTEM = "Alder Quay office"


def small_ledger(place: Path, job: Path) -> str:
    """Three copies of sales, one of cleaning; a rigger and a sailmaker; nothing handed out."""
    kit.new_ledger(where(str(place)), kit.Clock()).close()
    with work.desk(str(place), "Desk") as found:
        at = found.value
        assert at is not None
        done = [at.do(partial(acts.add_site, name="Alder Quay"))]
        done.append(work.bring_job(at, work.Entry(folder=job, site="Alder Quay"), kit.PASSPHRASE))
        approve = partial(acts.approve, system=SYSTEM, number=1, by="Office", authority="order 7")
        done.append(at.do(approve))
        done.append(at.do(partial(acts.cut, system=SYSTEM, key="sales", copies=3)))
        done.append(at.do(partial(acts.cut, system=SYSTEM, key="cleaning", copies=1)))
        for name in ("Rigger", "Sailmaker"):
            done.append(at.do(partial(acts.add_person, name=name, organisation="", contact="")))
        assert all(one.done for one in done), [one.findings for one in done]
    return str(place)
