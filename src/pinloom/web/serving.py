"""The server of the page: one process, one machine, until it is stopped by hand."""

import ipaddress
import socket
from collections.abc import Callable
from pathlib import Path

import uvicorn

from pinloom.core.findings import Finding, fault
from pinloom.web.app import make_app
from pinloom.web.here import Setting
from pinloom.web.sessions import new_secret
from pinloom.workflow.clock import seconds


def is_loopback(host: str) -> bool:
    """Whether an address is this machine's own and nobody else's."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def serve(
    jobs: Path,
    host: str,
    port: int,
    idle: float,
    ready: Callable[[str, str], None],
    ledger: str = "",
    clerk: str = "",
) -> tuple[Finding, ...]:
    """Serve until stopped. ``ready`` gets the address and the secret once the port is ours; port 0
    takes any that is free. Findings say why it could not start.
    """
    if not is_loopback(host):
        # There are no logins, so nobody but the person at this machine may reach the page.
        return (fault("web-not-loopback", host=host),)
    try:
        bound = _bind("127.0.0.1" if host == "localhost" else host, port)
    except OSError as error:
        reason = error.strerror or type(error).__name__
        return (fault("web-port-taken", port=port, reason=reason),)
    with bound:
        number = bound.getsockname()[1]
        secret = new_secret()
        names = hosts_of(host, number)
        setting = Setting(
            jobs=jobs,
            hosts=names,
            secret=secret,
            idle=idle,
            seconds=seconds,
            ledger=ledger,
            clerk=clerk,
        )
        config = uvicorn.Config(
            make_app(setting),
            access_log=False,
            log_level="warning",
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=3,
            ws="none",
        )
        try:
            ready(f"http://{names[0]}/", secret)
            uvicorn.Server(config).run(sockets=[bound])
        except KeyboardInterrupt:
            return ()
    return ()


def hosts_of(host: str, port: int) -> tuple[str, ...]:
    """The names under which a browser on this machine calls the page."""
    if host == "localhost" or host == "127.0.0.1":
        return (f"127.0.0.1:{port}", f"localhost:{port}")
    return (f"[{host}]:{port}" if ":" in host else f"{host}:{port}",)


def _bind(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
    try:
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((host, port))
        made.listen(64)
    except OSError:
        made.close()
        raise
    return made
