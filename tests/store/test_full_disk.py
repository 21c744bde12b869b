"""A disk that is full at any point, and a folder that takes nothing: nothing is lost, and it is said in one line."""

import os
import resource
import shutil
from collections import Counter
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from analytics.answers import keeping, modelling
from analytics.answers.records import Records
from analytics.errors import CannotWriteError, LeakbackError
from analytics.store import Store
from tests.store import acts
from tests.store.made import asked, copied, made_store

POINTS = asked("LEAKBACK_FULL_DISKS", 6)
NOBODY = 65534


def limited(act: str, store: Path, most_bytes: int, pipe: Connection) -> None:
    """Do an act where no file can grow past ``most_bytes``, as on a disk that is full from there on."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, most_bytes))
    pipe.send(told(acts.ACTS[act], store))


def told(act: Callable[[Path], None], store: Path) -> str:
    """What a person is told: the message, ``done``, or the type of an error nobody foresaw."""
    try:
        act(store)
    except LeakbackError as error:
        return str(error)
    except BaseException as error:  # noqa: BLE001 (what the test looks for)
        return f"UNFORESEEN {error!r}"
    return "done"


def run(target: Callable[..., None], *arguments: object) -> str:
    ours, theirs = acts.CONTEXT.Pipe()
    process = acts.CONTEXT.Process(target=target, args=(*arguments, theirs), daemon=True)
    process.start()
    theirs.close()
    said: str = ours.recv()
    process.join()
    return said


@pytest.mark.parametrize("act", ["load", "undo", "fit", "backup", "restore"])
def test_a_full_disk_loses_nothing_and_is_said(
    act: str, tmp_path: Path, record_property: Callable[[str, object], None]
) -> None:
    ready = made_store(tmp_path / "ready")
    acts.backup(ready)
    if act == "undo":
        acts.load(ready)
    before = acts.held(ready)
    size = ready.stat().st_size
    outcomes: Counter[str] = Counter()
    for number in range(-(-POINTS // 5)):
        store = copied(ready.parent, tmp_path / str(number)) / "store.duckdb"
        said = run(limited, act, store, int(size * 1.4 * number / max(1, -(-POINTS // 5) - 1)))
        assert acts.is_sound(store)
        if said == "done":
            assert act == "backup" or acts.held(store) != before
        else:
            assert "no room left on the disk" in said
            assert "\n" not in said
            assert acts.held(store) == before
        outcomes["done" if said == "done" else "said, store as before"] += 1
        acts.ACTS[act](store)  # with room again
        assert acts.is_sound(store)
        shutil.rmtree(store.parent)
    record_property(act, dict(outcomes))


def unprivileged(act: str, store: Path, practice: Path, pipe: Connection) -> None:
    """Do an act as somebody who may read the store and its folder and write neither."""
    if os.geteuid() == 0:
        READ_OR_ACT[act](practice)  # whatever it imports on the way may not be readable to nobody
        os.setgroups([])
        os.setresgid(NOBODY, NOBODY, NOBODY)
        os.setresuid(NOBODY, NOBODY, NOBODY)
    pipe.send(told(READ_OR_ACT[act], store))


def read_everything(store: Path) -> None:
    records = Records.of(store)
    assert records.ask("records")["row_count"][0] > 0
    assert keeping.check(store).found.is_sound


READ_OR_ACT = {**acts.ACTS, "read": read_everything}


@pytest.fixture
def practice_store(tmp_path: Path) -> Path:
    store = made_store(tmp_path / "practice")
    acts.backup(store)
    return store


@pytest.fixture
def read_only_store(practice_store: Path) -> Iterator[Path]:
    """A store in a folder that can be read by everybody and written by nobody, outside the runner's private one."""
    with TemporaryDirectory() as folder:
        Path(folder).chmod(0o755)
        store = copied(practice_store.parent, Path(folder) / "folder") / practice_store.name
        paths = [store.parent, *store.parent.rglob("*")]
        for path in paths:
            path.chmod(0o555 if path.is_dir() else 0o444)
        yield store
        for path in paths:
            path.chmod(0o755)


@pytest.mark.parametrize("act", ["load", "undo", "fit", "restore"])
def test_a_folder_that_cannot_be_written_is_said(act: str, read_only_store: Path, practice_store: Path) -> None:
    said = run(unprivileged, act, read_only_store, practice_store)
    assert "cannot be written" in said
    assert "choose another --store" in said


def test_a_store_that_cannot_be_written_still_answers(read_only_store: Path, practice_store: Path) -> None:
    assert run(unprivileged, "read", read_only_store, practice_store) == "done"


def test_the_model_serves_the_answer_where_it_cannot_be_kept(demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = modelling.current(Records.of(demo_store)).model
    assert kept is not None

    def refuse(*_: object, **__: object) -> None:
        raise CannotWriteError("full")

    monkeypatch.setattr(modelling, "_kept", lambda _: None)
    monkeypatch.setattr(modelling, "_train", lambda _: kept)
    monkeypatch.setattr(modelling, "keep_model", refuse)
    served = modelling.current(Records.of(demo_store))
    assert served.model == kept
    assert "for this answer only" in served.said
    assert Store(demo_store).frame("select count(*) n from models").item() >= 1
