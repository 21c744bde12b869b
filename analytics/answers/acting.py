"""What goes with every change to a store: who and when for the audit trail, and what a backup carries beside it."""

import getpass
import hashlib
import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from analytics.answers.records import policy_path
from analytics.answers.standing import present
from analytics.contract.policy import Keeping, read_policy
from analytics.errors import CannotWriteError, LeakbackError, StoreError
from analytics.intake import Keyring, private_path
from analytics.store import Ask, Store, followed
from analytics.store.auditing import Act
from analytics.store.backing_up import keep_backup
from analytics.store.placing import owner_only, put_in_place, refusals

LOG = logging.getLogger("leakback.notices")
STEPS = logging.getLogger("leakback.steps")
"""The steps of what takes long, each as it begins; heard where somebody is watching."""


@contextmanager
def changing(store: Store, what: str) -> Iterator[None]:
    """Change the records with nobody else writing: backed up before, unless they are already, and after."""
    wanted = keeping(store.path)
    with store.turns.writing(what):
        keep_backup(store, kept=wanted.backups, beside=beside(store.path))
        yield
        try:
            keep_backup(store, kept=wanted.backups, beside=beside(store.path))
        except CannotWriteError as error:
            LOG.warning("the %s is done, but no backup of it could be made: %s", what, error)


def keep_codes(keyring: Keyring) -> None:
    """Keep the codes given to rows before these are put in; CannotWriteError, with nothing loaded, where that fails."""
    try:
        keyring.keep()
    except CannotWriteError as error:
        raise CannotWriteError(f"{error}: nothing was loaded") from error


def keep_followed(store: Store, brought: int | None = None) -> None:
    """Lay the follow-up of very many cracks ready for the questions to come, which take longer where it cannot be.

    After a load, ``brought`` is how many cracks it loaded.
    """
    if not followed.pays(store, brought):
        return
    try:
        hemisphere = read_policy(policy_path(store.path)).hemisphere
        Ask.of(store, hemisphere=hemisphere).keep_followed()  # of this very store: whoever reads here lets go of it
    except LeakbackError as error:
        LOG.warning("answers will take longer, the follow-up could not be laid ready: %s", error)


def acting(store: Path) -> Act:
    """An act at this moment, under the policy file as it lies beside the store, and by whom as far as that is kept."""
    return Act(datetime.now(UTC).replace(tzinfo=None), _who(store), _policy_sha256(store))


def keeping(store: Path) -> Keeping:
    """What the policy says of backups and names; a policy that cannot be read changes neither."""
    try:
        return read_policy(policy_path(store)).keeping
    except LeakbackError:
        return Keeping()


def beside(store: Path) -> Callable[[Path], None]:
    """What puts a store's private file and policy beside a backup of it, readable by their owner only."""

    def put(backup: Path) -> None:
        for source, target in ((private_path(store), private_path(backup)), (policy_path(store), policy_path(backup))):
            if source.exists():
                write_whole(target, source.read_bytes())

    return put


def write_whole(path: Path, content: bytes) -> None:
    """Write a file whole or not at all, readable by its owner only."""
    draft = path.with_name(f".{path.name}.part")
    with refusals(path), owner_only():
        try:
            draft.write_bytes(content)
            put_in_place(draft, path)
        finally:
            draft.unlink(missing_ok=True)


def _who(store: Path) -> str | None:
    """Who signed in, as a role and a keyed code; else the account's name, where the policy asks for names."""
    person = present()
    if person.name is not None:
        return f"{person.role} {person_code(store, person.name)}".rstrip()
    if not keeping(store).user_names:
        return None
    try:
        return getpass.getuser()
    except (OSError, KeyError):  # an account without a name
        return None


def person_code(store: Path, name: str) -> str:
    """The code that stands for a person in the audit trail; empty where the key to the codes is not here."""
    try:
        return Keyring.of_store(store, None).person_code(name) if private_path(store).exists() else ""
    except StoreError:
        return ""


def _policy_sha256(store: Path) -> str | None:
    path = policy_path(store)
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else None
