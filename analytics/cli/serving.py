"""Starting the dashboard: for invited people only, nothing sent anywhere, no detail of an error on the page."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import click

from analytics.answers.entrance import PROXY_VARIABLE, check_entrance, secrets_path
from analytics.answers.standing import SERVING_VARIABLE
from analytics.contract.places import STORE_VARIABLE, shipped
from analytics.errors import LeakbackError, SignInError
from analytics.intake.limits import MOST_UPLOAD_MB


def serve(store: Path, host: str, port: int, *, behind_proxy: bool = False) -> None:
    """Run the dashboard on ``store`` until it is stopped.

    Raises:
        SignInError: where strangers could reach it and nobody would ask who they are.
        PeopleError: where people sign in, and none has a role.
    """
    signs_in = check_entrance(store, host, behind_proxy=behind_proxy)
    if signs_in:
        _refuse_without_library()
    click.echo(f"The dashboard is at http://{host}:{port} (stop it with Ctrl+C); {_who(signs_in, behind_proxy)}.")
    sys.stdout.flush()
    environment = os.environ | {STORE_VARIABLE: str(store.resolve()), SERVING_VARIABLE: "1"}
    environment[PROXY_VARIABLE] = "1" if behind_proxy else ""
    command = [*_command(host, port), *_sign_in_options(store, signs_in=signs_in)]
    # our own words, and no shell:
    with subprocess.Popen(command, env=environment, stdout=subprocess.DEVNULL) as server:  # noqa: S603 # nosec B603
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


def _who(signs_in: bool, behind_proxy: bool) -> str:
    if signs_in:
        return "people sign in, and see what their role allows"
    return (
        "whoever the proxy in front lets through is the owner"
        if behind_proxy
        else "whoever is at this computer is the owner"
    )


def _sign_in_options(store: Path, *, signs_in: bool) -> Iterator[str]:
    """Where the sign-in's settings are read from, and from nowhere else."""
    if signs_in:
        yield f"--secrets.files={secrets_path(store.resolve())}"


def _refuse_without_library() -> None:
    """Streamlit signs people in with these two."""
    if missing := [name for name in ("authlib", "httpx") if find_spec(name) is None]:
        raise SignInError(f"sign-in needs {' and '.join(missing)}: pip install 'leakback[signin]'")


def _command(host: str, port: int) -> list[str]:
    return [
        *(sys.executable, "-P", "-m", "analytics.render.server", "run", str(shipped("app.py"))),
        f"--server.address={host}",
        f"--server.port={port}",
        f"--server.headless={'false' if _has_screen() else 'true'}",
        "--browser.gatherUsageStats=false",
        "--client.showErrorDetails=none",
        f"--server.maxUploadSize={MOST_UPLOAD_MB}",
        "--runner.magicEnabled=false",
        "--logger.level=warning",
    ]


def _has_screen() -> bool:
    return sys.platform in {"darwin", "win32"} or bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))
