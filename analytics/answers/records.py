"""The records a question is asked of: a store, its policy, and the day it reaches."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from analytics.contract.policy import Policy, read_policy
from analytics.contract.units import System
from analytics.errors import LeakbackError
from analytics.store import Ask, Kept, Store


def policy_path(store: Path) -> Path:
    """Where a business keeps its own policy for a store; without the file the published thresholds hold."""
    return store.with_suffix(".policy.toml")


def display_of(store: Path) -> System:
    """The units a store's figures are shown in; metric where its policy cannot be read, which is said elsewhere."""
    try:
        return read_policy(policy_path(store)).display
    except LeakbackError:
        return "metric"


@dataclass(frozen=True)
class Records:
    """A store opened for reading, under one reading of its policy, as of one day."""

    store: Store
    policy: Policy
    ask: Ask

    @classmethod
    def of(cls, path: Path, as_of: date | None = None, kept: Kept | None = None) -> "Records":
        """The records at ``path``; StoreError or PolicyError in one sentence where they cannot be read.

        A door that is asked more than once gives somewhere to keep the answers of this state.
        """
        store = Store(path)
        with store.reading():
            store.require()
            policy = read_policy(policy_path(path))
            return cls(store, policy, Ask.of(store, as_of, policy.hemisphere, kept))

    @property
    def as_of(self) -> date | None:
        """The day the records reach; None where nothing was quoted, done or reported, whatever is planned."""
        return self.ask.as_of
