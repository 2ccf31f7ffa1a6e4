"""Any small job survives its folder: a property over random charts, cuts and pins."""

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from pinloom.workflow.folder import load
from pinloom.workflow.inputs import ChartSource
from pinloom.workflow.pin import PinOrder, pin
from tests.workflow.kit import job_of, write

_names = (
    st.text("abÅ帆 -.=+'\"|7", min_size=1, max_size=6)
    .map(str.strip)
    .filter(lambda name: bool(name) and not name.startswith(("=", "'", "(")) and "  " not in name)
)


@st.composite
def jobs(draw: st.DrawFn) -> tuple[list[str], list[str], list[list[bool]], list[str], str]:
    """Doors, keys, marks, cuts and the format; every key opens a door and the other way round."""
    doors = draw(st.lists(_names, min_size=1, max_size=4, unique_by=str.casefold))
    keys = draw(st.lists(_names, min_size=1, max_size=4, unique_by=str.casefold))
    marks = [
        [draw(st.booleans()) or d % len(keys) == k for k in range(len(keys))]
        for d in range(len(doors))
    ]
    for k in range(len(keys)):
        if not any(row[k] for row in marks):
            marks[0][k] = True
    name, depths = draw(st.sampled_from((("us-5x6-023", "123456"), ("us-5x10-015", "0123456789"))))
    cuts = [draw(st.text(depths, min_size=5, max_size=5)) for _ in keys]
    return doors, keys, marks, cuts, name


def _quoted(name: str) -> str:
    name = f"'{name}" if name[0] in "+-" else name
    return '"' + name.replace('"', '""') + '"'


def _order(folder: Path, chart: str, cuts: str, made: str, **more: Path) -> PinOrder:
    paths = write(folder, chart=chart, cuts=cuts)
    return PinOrder(
        chart=ChartSource(path=paths["chart"]),
        hardware=made,
        bittings=more.get("bittings", paths["cuts"]),
        pinning=more.get("pinning"),
        out=folder / ("again" if more else "job"),
        name="round trip",
    )


@settings(max_examples=40)
@given(jobs())
def test_a_job_survives_its_folder(
    made: tuple[list[str], list[str], list[list[bool]], list[str], str],
) -> None:
    """Written, read and proved again, and rebuilt from its own two tables, it is the same job."""
    doors, keys, marks, cuts, name = made
    chart = "door," + ",".join(map(_quoted, keys)) + "\n"
    for door, row in zip(doors, marks, strict=True):
        chart += _quoted(door) + "," + ",".join("x" if mark else "" for mark in row) + "\n"
    table = "key,stamped\n" + "".join(
        f"{_quoted(key)},{cut}\n" for key, cut in zip(keys, cuts, strict=True)
    )
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        job = job_of(pin(_order(folder, chart, table, name)))
        assert load(folder / "job").job == job
        own = {
            "bittings": folder / "job/bittings.csv",
            "pinning": folder / "job/pinning.csv",
        }
        again = job_of(pin(_order(folder, chart, table, name, **own)))
        assert again == job
        for file in ("bittings.csv", "pinning.csv", "job.json"):
            assert (folder / "job" / file).read_bytes() == (folder / "again" / file).read_bytes()
