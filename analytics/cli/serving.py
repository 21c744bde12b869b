"""Starting the dashboard: on this computer only, nothing sent anywhere, no detail of an error on the page."""

import ipaddress
import os
import signal
import subprocess
import sys
from pathlib import Path

import click

from analytics.contract.places import shipped
from analytics.errors import LeakbackError

STORE_VARIABLE = "LEAKBACK_STORE"


def serve(store: Path, host: str, port: int) -> None:
    """Run the dashboard on ``store`` until it is stopped; LeakbackError for an address others could reach."""
    if not _is_loopback(host):
        raise LeakbackError(
            f"--host {host}: the dashboard has no sign-in, so it is only served on this computer (127.0.0.1)"
        )
    click.echo(f"The dashboard is at http://{host}:{port} (stop it with Ctrl+C).")
    sys.stdout.flush()
    environment = os.environ | {STORE_VARIABLE: str(store.resolve())}
    command = _command(host, port)
    with subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL) as server:  # noqa: S603 - our own words
        signal.signal(signal.SIGTERM, lambda *_: server.terminate())
        try:
            code = server.wait()
        except KeyboardInterrupt:
            server.terminate()
            return
    if code > 0:
        raise LeakbackError(
            f"the dashboard stopped (code {code}); if port {port} is in use, choose another with --port"
        )


def _command(host: str, port: int) -> list[str]:
    return [
        *(sys.executable, "-m", "streamlit", "run", str(shipped("app.py"))),
        f"--server.address={host}",
        f"--server.port={port}",
        f"--server.headless={'false' if _has_screen() else 'true'}",
        "--browser.gatherUsageStats=false",
        "--client.showErrorDetails=none",
        "--runner.magicEnabled=false",
        "--logger.level=warning",
    ]


def _is_loopback(host: str) -> bool:
    try:
        return host == "localhost" or ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False


def _has_screen() -> bool:
    return sys.platform in {"darwin", "win32"} or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
