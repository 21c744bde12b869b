"""Killed at any instant, an act is done or not done, never half; what was acknowledged is there."""

import random
import shutil
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from analytics.answers.loading import load
from analytics.store import Store
from analytics.store.automatic import automatic
from tests.histories import TODAY
from tests.store import acts
from tests.store.made import asked, copied, made_store, older_store, write_first_and_second

KILLS = asked("LEAKBACK_KILLS", 14)


def prepared(act: str, folder: Path) -> Path:
    """A store in a folder of its own, ready for ``act``."""
    folder.mkdir()
    if act == "first_load":
        write_first_and_second(folder)
        return folder / "store.duckdb"
    if act == "upgrade":
        return older_store(folder / "store.duckdb")
    store = made_store(folder)
    if act in {"backup", "restore", "undo"}:
        acts.backup(store)
        load(store, [folder / "second"], today=TODAY)
    return store


def states(act: str, store: Path) -> dict[str, object]:
    """What must be whole after an act was killed: the store, and the backup where one was being replaced."""
    found: dict[str, object] = {"store": acts.held(store)}
    if act in {"backup", "restore"}:
        found["backup"] = acts.held(acts.backup_path(store))
    return found


@pytest.mark.parametrize("act", acts.ACTS)
def test_an_act_that_is_killed_is_done_or_not_done(
    act: str, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    ready = prepared(act, tmp_path / "ready").parent
    before = states(act, ready / "store.duckdb")
    lasts_s, after = done_in_peace(act, copied(ready, tmp_path / "peace") / "store.duckdb")
    draw = random.Random(act)  # noqa: S311 (instants to kill at)
    outcomes: Counter[str] = Counter()
    for number in range(-(-KILLS // len(acts.ACTS))):
        store = copied(ready, tmp_path / str(number)) / "store.duckdb"
        acknowledged = kill(act, store, draw.uniform(0, 1.2 * lasts_s))
        check_whole(store)
        found = states(act, store)
        assert found in (before, after) or act == "first_load", f"half a state after {act}"
        if acknowledged:
            assert found == after, f"{act} was acknowledged and lost"
        if act == "first_load":
            assert found in (before, after, {"store": empty_store(tmp_path)})
        outcomes[f"acknowledged {acknowledged}, {'after' if found == after else 'before'}"] += 1
        acts.ACTS[act](store)  # and the next try goes through
        check_whole(store)
        shutil.rmtree(store.parent)
    record_property(act, dict(outcomes))


def done_in_peace(act: str, store: Path) -> tuple[float, dict[str, object]]:
    """How long an act takes, and what it leaves."""
    process, pipe = acts.start(act, store)
    began = time.monotonic()
    pipe.send("go")
    assert pipe.recv() == acts.DONE
    lasts_s = time.monotonic() - began
    process.join()
    return lasts_s, states(act, store)


def kill(act: str, store: Path, after_s: float) -> bool:
    """Kill a program in the act; whether it had said that it was done."""
    process, pipe = acts.start(act, store)
    pipe.send("go")
    time.sleep(after_s)
    process.kill()
    process.join()
    try:
        return pipe.poll() and pipe.recv() == acts.DONE
    except EOFError:
        return False


def check_whole(store: Path) -> None:
    kept = [path for path in automatic(store) if Store(path).version() > 1]
    if store.exists() and Store(store).version() > 1:
        kept.append(store)
    assert all(acts.is_sound(path) for path in kept)


def empty_store(folder: Path) -> object:
    path = folder / "empty.duckdb"
    return acts.held(Store.open_or_create(path).path)
