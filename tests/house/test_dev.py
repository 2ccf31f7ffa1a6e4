"""The script at the root is plain shell, explains itself, and tells uv what pip is set up for."""

import os
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
DEV = ROOT / "dev"
SCRIPT = DEV.read_text(encoding="utf-8")


def _run(*arguments: str, script: Path = DEV, **settings: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["sh", script, *arguments],
        env={"PATH": os.environ["PATH"], "HOME": "/nonexistent", **settings},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_it_explains_every_command() -> None:
    """Without a command it lists all of them, and the first words tell of the job."""
    listed = set(re.findall(r"^\s+\./dev (\w+)", _run().stdout, re.MULTILINE))
    branches = set(re.findall(r"^    ([a-z]+)\)", SCRIPT, re.MULTILINE))
    assert {"demo", "test", "bench", "pinloom", "check", "docs", "lock", "setup"} <= listed
    assert listed <= branches


def test_an_unknown_command_fails() -> None:
    """A misspelt command sets nothing up and ends with a failure."""
    run = _run("tset")
    assert run.returncode == 1
    assert "no such command: tset" in run.stderr


@pytest.fixture
def probe(tmp_path: Path) -> Path:
    """The script, changed to print what it would tell uv, instead of running anything."""
    stop = "BASE_PYTHON=$(find_python)\nregistry_settings\nenv\nexit 0\ncommand="
    changed = SCRIPT.replace("\ncommand=", f"\n{stop}", 1)
    assert changed != SCRIPT
    path = tmp_path / "dev"
    path.write_text(changed, encoding="utf-8")
    return path


def _told(probe: Path, pip_settings: str, **settings: str) -> dict[str, str]:
    config = probe.with_name("pip.conf")
    config.write_text(pip_settings, encoding="utf-8")
    run = _run(script=probe, PIP_CONFIG_FILE=str(config), **settings)
    assert run.returncode == 0, run.stderr
    return dict(line.split("=", 1) for line in run.stdout.splitlines() if "=" in line)


def test_uv_uses_what_pip_uses(probe: Path) -> None:
    """Index, further indexes and certificates of pip's settings reach uv; those on disk do not."""
    told = _told(
        probe,
        "[global]\nindex-url = https://a.example.org/simple\ncert = /etc/ssl/own.pem\n"
        "extra-index-url =\n  https://b.example.org/x\n  file:///srv/x\n  https://c.example.org/x\n",
    )
    assert told["UV_DEFAULT_INDEX"] == "https://a.example.org/simple"
    assert told["UV_INDEX"] == "https://b.example.org/x https://c.example.org/x"
    assert told["UV_INDEX_STRATEGY"] == "unsafe-best-match"
    assert told["SSL_CERT_FILE"] == "/etc/ssl/own.pem"


def test_the_environment_outweighs_the_file(probe: Path) -> None:
    """As with pip, a variable wins over the file, and uv's own variable over both."""
    file = "[global]\nindex-url = https://a.example.org/simple\n"
    told = _told(probe, file, PIP_INDEX_URL="https://e.example.org/simple")
    assert told["UV_DEFAULT_INDEX"] == "https://e.example.org/simple"
    told = _told(probe, file, UV_DEFAULT_INDEX="https://u.example.org/simple")
    assert told["UV_DEFAULT_INDEX"] == "https://u.example.org/simple"
