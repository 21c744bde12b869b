"""Commands that open the dashboard, on a business's own records or on the demo.

They have no --format: they serve until they are stopped, so there is no answer to print. `demo --no-open` alone ends,
once its store is built. What the demo says as it is built are the answers of other commands, which give them of its
store: load, measure, fit and flags.
"""

import tempfile
from pathlib import Path

import click

from analytics.cli.options import FILE, store_option
from analytics.cli.printing import working

DEMO_STORE = "demo.duckdb"
behind_proxy_option = click.option(
    "--behind-proxy", is_flag=True, help="A proxy in front signs people in; whoever it lets through is the owner."
)


@click.command(epilog="Example: leakback dashboard --store shop.duckdb --port 8600")
@click.option("--host", default="127.0.0.1", show_default=True, help="Only this computer by default.")
@click.option("--port", type=click.IntRange(1, 65535), default=8501, show_default=True)
@behind_proxy_option
@store_option
def dashboard(host: str, port: int, behind_proxy: bool, store: Path) -> None:
    """Open the dashboard in a browser.

    Where SHOP.secrets.toml lies beside SHOP.duckdb people sign in, and see what their role in SHOP.people.toml allows.
    """
    from analytics.answers.entrance import check_entrance
    from analytics.answers.loading import begin
    from analytics.answers.records import Records
    from analytics.cli.serving import serve

    check_entrance(store, host, behind_proxy=behind_proxy)  # said before anything is begun
    if begin(store):
        click.echo(f"There is no store at {store} yet: a new, empty one is begun there.")
    Records.of(store)  # a store that cannot be read is said here, not on a page
    serve(store, host, port, behind_proxy=behind_proxy)


@click.command(epilog="Example: leakback demo --port 8600")
@click.option("--host", default="127.0.0.1", show_default=True)
@click.option("--port", type=click.IntRange(1, 65535), default=8501, show_default=True)
@click.option(
    "--store",
    type=FILE,
    default=None,
    help="Keep the demo's store here; without it, it goes when the dashboard stops.",
)
@behind_proxy_option
@click.option("--no-open", is_flag=True, help="Build the store and stop, without the dashboard.")
def demo(host: str, port: int, behind_proxy: bool, store: Path | None, no_open: bool) -> None:
    """Build the store of an invented business and open the dashboard on it."""
    from analytics.answers.demonstrating import build_demo
    from analytics.answers.entrance import check_entrance
    from analytics.cli.serving import serve

    if not no_open:
        check_entrance(store or Path(DEMO_STORE), host, behind_proxy=behind_proxy)  # said before anything is built
    with tempfile.TemporaryDirectory(prefix="leakback-demo-") as folder:
        with working("building the demo of an invented business"):
            built = build_demo(store or Path(folder) / DEMO_STORE)
        click.echo(built.said)
        if not no_open:
            serve(built.store, host, port, behind_proxy=behind_proxy)
