"""The runner of measurements finds its families, runs what is asked and keeps the figures."""

import json
import sys
from pathlib import Path

import pytest

import bench
from bench import __main__ as runner
from bench import kit

FAMILY = '''"""A family for this test."""
from pathlib import Path
from bench import kit

def run(out_dir: Path, quick: bool) -> None:
    """Keep one record."""
    kit.keep(out_dir, "probe", [{"pairs": 3}], quick=quick)
'''


def test_every_family_can_be_run() -> None:
    """Each family of the repository loads, has a `run` and says what it measures."""
    for name in runner.families():
        assert callable(runner.load(name)), name
        assert sys.modules[f"bench.bench_{name}"].__doc__, name


def test_a_family_runs_and_keeps_its_figures(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A named family is found, runs in the asked size, and leaves its records and the machine."""
    (tmp_path / "bench_probe.py").write_text(FAMILY)
    monkeypatch.setattr(bench, "__path__", [str(tmp_path)])
    monkeypatch.setattr(runner, "families", lambda: ["probe"])
    assert runner.main(["probe", "--quick", "--out", str(tmp_path / "out")]) == 0
    kept = json.loads((tmp_path / "out" / "probe-quick.json").read_text())
    assert kept["records"] == [{"pairs": 3}]
    assert kept["machine"]["cores"] >= 1


def test_families_are_found_by_file_name(tmp_path: Path) -> None:
    """Only files named for it are families, in alphabetical order."""
    for name in ("bench_b.py", "bench_a.py", "kit.py"):
        (tmp_path / name).write_text("")
    assert runner.families(tmp_path) == ["a", "b"]


def test_a_long_family_runs_only_when_named(capsys: pytest.CaptureFixture[str]) -> None:
    """What takes an hour is listed, and left out of a run of everything."""
    assert runner.main(["--list"]) == 0
    assert "engine_plain" in capsys.readouterr().out.split()
    assert not runner.is_asked("engine_plain")
    assert runner.is_asked("engine")


def test_a_part_is_refused_where_there_is_none(capsys: pytest.CaptureFixture[str]) -> None:
    """`--only` runs nothing when a family cannot run some of its cases."""
    assert runner.main(["chart", "--only", "F1"]) == 2
    assert "no part can be run of chart" in capsys.readouterr().out


def test_unknown_family_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """A misspelt name runs nothing and says so."""
    assert runner.main(["no-such-family"]) == 2
    assert "no such family: no-such-family" in capsys.readouterr().out


def test_figures_tell_nothing_of_whose_machine_it_is() -> None:
    """The description of the machine holds exactly what the figures depend on."""
    assert set(kit.machine()) == {"python", "processor", "cores", "numba", "numpy", "python-sat"}
