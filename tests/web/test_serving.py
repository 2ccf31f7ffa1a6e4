"""The program that serves the page: its address, its secret, its refusals."""

import socket
import subprocess
from pathlib import Path

import httpx
import pytest

from pinloom.web.serving import hosts_of, is_loopback
from tests.cli.kit import Exit, run
from tests.web.kit import Server, serving


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.168.1.5", "shop.example", ""])
def test_an_address_for_others_is_refused(capsys: pytest.CaptureFixture[str], host: str) -> None:
    """There are no logins, so nothing but this machine's own address is served."""
    found = run(capsys, "serve", "--port", "0", "--host", host)
    assert found.code == Exit.BAD_INPUT
    assert "web-not-loopback" in found.err


def test_addresses_of_this_machine() -> None:
    """What counts as this machine alone, and the names under which it is called."""
    assert all(is_loopback(one) for one in ("127.0.0.1", "127.8.8.8", "::1", "localhost"))
    assert hosts_of("127.0.0.1", 80) == ("127.0.0.1:80", "localhost:80")
    assert hosts_of("::1", 8440) == ("[::1]:8440",)


def test_a_taken_port_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """The port is named, with what to do; nothing is served in its place."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        found = run(capsys, "serve", "--port", port)
    assert found.code == Exit.BAD_INPUT
    assert "web-port-taken" in found.err
    assert str(port) in found.err


def test_the_program_serves(server: Server) -> None:
    """Its own address answers, a foreign name on the same port does not."""
    answer = httpx.get(server.address, follow_redirects=True, trust_env=False)
    assert answer.status_code == 200
    assert "The page is locked" in answer.text
    assert "server" not in answer.headers
    foreign = httpx.get(server.address, headers={"host": "evil.example"}, trust_env=False)
    assert foreign.status_code == 421
    assert server.secret not in answer.text


def test_it_stops_by_hand(tmp_path: Path) -> None:
    """Ctrl-C ends it in good order, exit code 0, and a folder that is not there is only empty."""
    import signal

    with serving(tmp_path / "none") as running:
        running.process.send_signal(signal.SIGINT)
        try:
            assert running.process.wait(timeout=20) == Exit.DONE
        except subprocess.TimeoutExpired:
            pytest.fail("it does not stop")
