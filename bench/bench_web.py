"""The page as a person feels it: the verdict after one changed cell, a chart of 5,000 doors.

Measured from outside, through the program's own server and requests as the browser makes them: the
time from sending a changed cell until the verdict is there, and the time from asking for a page
until its data has come. Drawing in the browser is measured by the tests of the grid.
"""

import json
import random
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx

from bench import charts, kit
from pinloom.chart import write_matrix
from pinloom.core.chart import AccessChart
from pinloom.workflow.design import DesignOrder, design_job
from pinloom.workflow.inputs import ChartSource

FORMAT = "us-6x10-014a"
LARGE_FORMAT = "ic-7x6-021"
LONGEST = 60.0  # seconds to wait for one verdict


def run(out_dir: Path, quick: bool) -> None:
    """Verdicts on 60 doors with 60 keys, and a chart of many doors."""
    records: list[kit.Record] = []
    with tempfile.TemporaryDirectory(prefix="pinloom-") as name:
        jobs, work = Path(name) / "jobs", Path(name) / "work"
        work.mkdir()
        _job(jobs / "sixty", work, _sixty(), FORMAT, budget=2_000)
        doors = 200 if quick else 5_000
        large = charts.uniform(10, doors // 100, 10).chart(1)
        _job(jobs / "large", work, large, LARGE_FORMAT, budget=20_000)
        with _page(jobs) as client:
            records += _verdicts(client, 5 if quick else 40)
            records += _openings(client, large, 2 if quick else 5)
    for record in records:
        print(record)
    kit.keep(out_dir, "web", records, quick=quick)


def _sixty() -> AccessChart:
    """60 doors and 60 keys: six groups of eight under two areas and a top master, a shared door a
    group, a service key and two keys across.
    """
    sketch = charts.services(charts.share(charts.uniform(2, 3, 8)), 1)
    return charts.scatter(sketch, 2, random.Random("sixty")).chart(2)


def _job(folder: Path, work: Path, chart: AccessChart, made: str, budget: int) -> None:
    path = work / f"{folder.name}.xlsx"
    write_matrix(chart, path)
    result = design_job(
        DesignOrder(chart=ChartSource(path=path), hardware=made, out=folder, budget=budget)
    )
    if result.job is None:
        raise RuntimeError(f"{folder.name}: no job to measure with")


@contextmanager
def _page(jobs: Path) -> Iterator[httpx.Client]:
    """The program in a process of its own, with the secret typed."""
    program = Path(sys.executable).with_name("pinloom")
    command = [str(program), "serve", "--port", "0", "--jobs", str(jobs)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        try:
            assert server.stdout is not None
            said = ""
            while "Stop with" not in said:
                said += server.stdout.readline()
            address = said.split("The page is at ")[1].split()[0].rstrip("/")
            secret = said.split("shown once: ")[1].split()[0]
            with httpx.Client(base_url=address, timeout=120, trust_env=False) as client:
                client.headers["origin"] = address
                client.post("/enter", data={"secret": secret})
                token = re.search(r'data-token="([^"]+)"', client.get("/").text)
                assert token is not None
                client.headers["x-pinloom-token"] = token[1]
                yield client
        finally:
            server.terminate()


def _verdicts(client: httpx.Client, times: int) -> Iterator[kit.Record]:
    at = "/job/sixty/wanted"
    data = client.get(f"{at}.json").json()
    chart = data["chart"]
    size = {"doors": len(chart["doors"]), "keys": len(chart["keys"])}
    _verdict(client, at, data["seen"])  # whatever is compiled at first use is compiled now
    rng = random.Random("cells")
    seconds: list[float] = []
    answers: list[str] = []
    for _ in range(times):
        door = rng.choice(chart["doors"])[0]
        key = rng.choice(chart["keys"])[0]
        row = chart["openers"][[d[0] for d in chart["doors"]].index(door)]
        on = [k[0] for k in chart["keys"]].index(key) not in row
        edit = {"do": "mark", "door": door, "key": key, "on": on}
        start = time.perf_counter()
        told = client.post(at, data={"seen": data["seen"], "edits": json.dumps([edit])}).json()
        answers.append(_verdict(client, at, told["seen"]))
        seconds.append(time.perf_counter() - start)
        data = client.post(f"{at}/back", data={"seen": told["seen"]}).json()
    seconds.sort()
    yield {
        "what": "verdict after one changed cell",
        **size,
        "times": times,
        "median ms": round(seconds[len(seconds) // 2] * 1000),
        "slowest ms": round(seconds[-1] * 1000),
        "possible": answers.count("possible"),
        "impossible": answers.count("impossible"),
        "not found": answers.count("not_found"),
    }


def _verdict(client: httpx.Client, at: str, seen: str) -> str:
    """The answer, asked for until there is one."""
    end = time.perf_counter() + LONGEST
    while time.perf_counter() < end:
        told: dict[str, Any] = client.get(f"{at}/verdict", params={"seen": seen}).json()
        if told["answer"] != "looking":
            return str(told["answer"])
    return "none"


def _openings(client: httpx.Client, chart: AccessChart, times: int) -> Iterator[kit.Record]:
    def opened() -> None:
        client.get("/job/large/chart").raise_for_status()
        client.get("/job/large/chart.json").raise_for_status()

    _, first = kit.timed(opened)
    again = kit.repeated(opened, times)
    yield {
        "what": "a chart opens",
        "doors": len(chart.doors),
        "keys": len(chart.keys),
        "first ms": round(first * 1000),
        "median ms": round(again.median * 1000),
        "kB": round(len(client.get("/job/large/chart.json").content) / 1000),
    }
