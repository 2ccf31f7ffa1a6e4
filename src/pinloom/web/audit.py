"""What else opens these doors: figures, pictures and the doors behind each number. No cut."""

from fastapi import APIRouter
from fastapi.responses import Response

from pinloom.web.here import Away, OnJob, OnThisJob
from pinloom.workflow.auditpage import Audited, audited

router = APIRouter()

#: what a picture shows, in words beside it
CAPTIONS = {
    "census.svg": "Every key that can be cut, by the number of doors it opens",
    "exposure.svg": "Door by door: combinations beyond the issued keys, and what is at stake",
    "margins.svg": "How many chambers keep which key out of which door",
}
# A picture is drawn with a style sheet of its own; it may load and run nothing.
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"


@router.get("/job/{name}/audit")
def audit(on: OnThisJob) -> Response:
    """The figures of the audit, each with the doors behind it."""
    made = _audited(on)
    return on.page(
        "audit", made=made, audit=made.audit, captions=CAPTIONS, findings=made.audit.findings
    )


@router.get("/job/{name}/audit/{picture}")
def picture(on: OnThisJob, picture: str) -> Response:
    """One picture as SVG."""
    text = dict(_audited(on).pictures).get(picture)
    if text is None:
        raise Away(404, "There is no such picture.", "Choose one on the page of the audit.")
    return Response(
        text,
        media_type="image/svg+xml",
        headers={"content-security-policy": PICTURE_POLICY},
    )


def _audited(on: OnJob) -> Audited:
    key = ("audit", on.shelved.name, on.job.proof.fingerprint, str(on.job.revision))
    return on.here.house.kept.made(key, Audited, lambda: audited(on.job))
