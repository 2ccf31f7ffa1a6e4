"""Who opens what: the chart as a grid, and the keys as branches."""

from fastapi import APIRouter
from fastapi.responses import JSONResponse, Response

from pinloom.core.chart import AccessChart, KeyStanding
from pinloom.web.here import OnThisJob
from pinloom.workflow.hierarchy import hierarchy

router = APIRouter()


@router.get("/job/{name}/chart")
def chart(on: OnThisJob) -> Response:
    """The grid; its marks come as one piece of data, so that a large chart scrolls."""
    return on.page("chart")


@router.get("/job/{name}/chart.json")
def marks(on: OnThisJob) -> JSONResponse:
    """Doors, keys and marks for the grid. No cut is among them."""
    return JSONResponse(as_data(on.job.chart))


def as_data(chart: AccessChart) -> dict[str, object]:
    """The chart as the grid's script takes it: rows of key numbers, not a dense table."""
    return {
        "doors": [[door.name, door.opening, door.count] for door in chart.doors],
        "keys": [
            [key.name, key.under, "" if key.standing is KeyStanding.ACTIVE else key.standing.value]
            for key in chart.keys
        ],
        "openers": chart.openers,
    }


@router.get("/job/{name}/branches")
def branches(on: OnThisJob) -> Response:
    """Who is under whom."""
    return on.page("branches", tree=hierarchy(on.job.chart))
