"""A lost key of a job: what it opens, and plans to shut it out, every state proved. No cuts."""

from fastapi import APIRouter
from fastapi.responses import Response

from pinloom.web.here import OnThisJob
from pinloom.workflow.lost import LostOrder, LostResult, Prices, lost_key

router = APIRouter()


@router.get("/job/{name}/lost")
def lost(on: OnThisJob, key: str = "") -> Response:
    """The form, and for a key of the job its exposure and plans."""
    keys = [one.name for one in on.job.chart.keys]
    if key not in keys:
        wrong = f"There is no key called {key} in this job." if key else ""
        return on.page("lost", 404 if key else 200, keys=keys, key=key, wrong=wrong, result=None)
    house, session = on.here.house, on.here.session
    order = LostOrder(
        key=key,
        folder=on.shelved.folder,
        prices=Prices(),
        passphrase=session.passphrases.get(on.shelved.name) if on.shelved.sealed else None,
    )
    kept = ("lost", on.shelved.name, on.job.proof.fingerprint, key)
    result = house.kept.made(kept, LostResult, lambda: lost_key(order))
    return on.page("lost", keys=keys, key=key, wrong="", result=result)
