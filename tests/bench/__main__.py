"""How long everything takes, and in how much memory: a table, beside an analyst's usual script and a plain scan.

``.venv/bin/python -m tests.bench --size 100k`` makes an invented business of that many cracks, runs every stage in a
process of its own, and in the same run the peer and the floor, so that ratios are of one machine at one time.
"""

import tempfile
from collections.abc import Sequence
from pathlib import Path
from statistics import median

import click
from rich.console import Console
from rich.table import Table

from tests.bench.growth import exponents
from tests.bench.running import Took, run
from tests.bench.stages import METRICS, STAGES, pages

SIZES = {"10k": 10_000, "100k": 100_000, "1m": 1_000_000, "10m": 10_000_000}


@click.command()
@click.option("--size", "sizes", multiple=True, default=("100k",), type=click.Choice(tuple(SIZES)))
@click.option("--stage", "stages", multiple=True, type=click.Choice((*STAGES, *pages())), help="Only these; else all.")
@click.option("--folder", type=click.Path(path_type=Path), help="Where to make the businesses, and to leave them.")
@click.option("--repeat", default=1, help="Runs of each stage, the quickest counts; of the peer, in turn with ours.")
@click.option("--peer/--no-peer", default=True, help="Run the analyst's script beside ours.")
def main(sizes: Sequence[str], stages: Sequence[str], folder: Path | None, repeat: int, *, peer: bool) -> None:
    """Measure and print."""
    console = Console(width=110)
    with tempfile.TemporaryDirectory(prefix="leakback-bench-") as temporary:
        took = {}
        for size in sizes:
            place = (folder or Path(temporary)) / size
            run("making", str(place), str(SIZES[size]))  # apart: a process's peak begins at that of who starts it
            took[size] = _measured(place, stages or (*STAGES, *pages()), repeat)
            console.print(_table(size, took[size]))
            _beside_floor(console, place, took[size])
            if peer and "altogether" in took[size]:
                _beside_peer(console, place, repeat)
        if len(took) > 1:
            console.print(_growth({SIZES[size]: found for size, found in took.items()}))


def _measured(place: Path, stages: Sequence[str], repeat: int) -> dict[str, Took]:
    return {name: run("stages", name, str(place), repeat=repeat) for name in stages}


def _table(size: str, took: dict[str, Took]) -> Table:
    table = Table("stage", title=f"{size} cracks")
    for heading in ("wall, s", "processor, s", "work: wall, s", "processor, s", "peak, MiB"):
        table.add_column(heading, justify="right")
    for name, one in took.items():
        table.add_row(
            name,
            f"{one.wall:.2f}",
            f"{one.cpu:.2f}",
            f"{one.seconds:.3f}",
            f"{one.processor:.3f}",
            f"{one.peak_mib:,.0f}",
        )
    return table


def _beside_floor(console: Console, place: Path, took: dict[str, Took]) -> None:
    """The metrics beside a scan."""
    if not any(metric in took for metric in METRICS):
        return
    for metric, found in run("floor", str(place)).told["answer"].items():
        for how, (scan, ours) in found.items():
            console.print(f"{metric}: {ours / scan:.1f} times one scan of its columns ({scan:.3f} s), {how}")


def _beside_peer(console: Console, place: Path, repeat: int) -> None:
    """All that the peer does, ours and theirs in turn, each behind the other: a machine's speed changes from minute
    to minute, and whoever is first reads files and libraries that nobody has read lately."""
    run("stages", "altogether", str(place))
    rounds = [(run("peer", str(place)), run("stages", "altogether", str(place))) for _ in range(repeat)]
    for theirs, ours in rounds:
        console.print(
            f"ours altogether {ours.wall:.1f} s wall, {ours.cpu:.1f} s processor, {ours.peak_mib:,.0f} MiB; peer "
            f"{theirs.wall:.1f} s, {theirs.cpu:.1f} s, {theirs.peak_mib:,.0f} MiB: {theirs.wall / ours.wall:.1f} times "
            f"in wall, {theirs.cpu / ours.cpu:.1f} times in processor time"
        )
    console.print(f"median {median(theirs.wall / ours.wall for theirs, ours in rounds):.1f} times in wall")


def _growth(took: dict[int, dict[str, Took]]) -> Table:
    table = Table("stage", title="Growth of the processor time of the work: ~ size to the power")
    table.add_column("exponent", justify="right")
    for name, power in exponents({size: {n: t.processor for n, t in found.items()} for size, found in took.items()}):
        table.add_row(name, f"{power:.2f}")
    return table


if __name__ == "__main__":
    main()
