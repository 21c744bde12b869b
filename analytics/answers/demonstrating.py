"""The demo: the invented business's files, loaded, measured, modelled and flagged like any other's."""

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from analytics.answers import flagging, loading, measuring, model_card, modelling
from analytics.answers.acting import write_whole
from analytics.answers.records import Records, policy_path
from analytics.answers.setting_policy import invented_policy, set_policy
from analytics.charts.palette import ACTION_MARKS
from analytics.contract import words
from analytics.contract.places import shipped
from analytics.contract.policy import read_policy
from analytics.contract.settings import SETTINGS
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError
from analytics.intake import private_path
from analytics.store import Store
from analytics.store.committing import note

INVENTED = "invented"
"""The store's own mark that its records are the invented business's."""


@dataclass(frozen=True)
class Demo:
    """The store that was built, and what was done, in words."""

    store: Path
    said: str


def build_demo(store: Path) -> Demo:
    """Build the demo's store; LeakbackError where something lies at that path already."""
    if store.exists():
        raise LeakbackError(f"{store} is there already; the demo builds a new store: choose another name")
    try:
        done = fill(store)
    except LeakbackError:
        for path in (store, policy_path(store), private_path(store)):
            path.unlink(missing_ok=True)
        raise
    return Demo(store, "\n".join(_said(Records.of(store), done)))


def fill(path: Path) -> loading.Loaded:
    """Load the invented business into a new or empty store; LeakbackError where anything is loaded in it."""
    store = Store.open_or_create(path)
    if not Records.of(path).ask("load_ledger").is_empty():
        raise LeakbackError(f"{path} holds records already; the invented business goes into an empty store only")
    data = shipped("data")
    _put_policy_in(path)
    note(store, INVENTED, "yes")  # said before there is anything to take for real
    return loading.load(path, [data / f"{name}.csv" for name in TABLES])


def take_out(path: Path) -> None:
    """Empty a store of the invented business, with all that was recorded on it; LeakbackError where it is not."""
    if not Records.of(path).store.meta(INVENTED):
        raise LeakbackError(f"{path} does not hold the invented business: nothing was taken out")
    while not Records.of(path).ask("load_ledger").is_empty():
        loading.undo(path)
    _take_policy_out(path)
    note(Store.existing(path), INVENTED, "")


def _put_policy_in(path: Path) -> None:
    """The invented business's settings, but for those that are somebody's own already."""
    if not policy_path(path).exists():
        write_whole(policy_path(path), invented_policy().read_bytes())
        return
    invented, held = read_policy(invented_policy()), read_policy(policy_path(path))
    wanting = [each for each in SETTINGS.values() if each.of(held) == each.published != each.of(invented)]
    if wanting:
        set_policy(path, {each.name: str(each.of(invented)) for each in wanting})


def _take_policy_out(path: Path) -> None:
    """The settings that are still as the invented business has them: they are nobody's own."""
    policy = policy_path(path)
    if policy.exists() and policy.read_bytes() == invented_policy().read_bytes():
        policy.unlink()
        return
    invented, held = read_policy(invented_policy()), read_policy(policy)
    same = [each for each in SETTINGS.values() if each.of(held) == each.of(invented) != each.published]
    if same:
        set_policy(path, {each.name: "" for each in same})


def _said(records: Records, done: loading.Loaded) -> list[str]:
    rate = measuring.measure(records, "leak_back_rate", months=24).rows.row(0, named=True)
    model = modelling.fit(records)
    flags = flagging.flags(records).flags
    counts = Counter(flag.needs for flag in flags)
    loaded = ", ".join(f"{words.number(count.loaded)} {name}" for name, count in done.tables.items())
    rejected = sum(count.rejected for count in done.tables.values())
    cracks, leak_backs = words.counted(rate["cracks"], "repaired crack"), words.counted(rate["events"], "leak-back")
    share = words.percent_estimate(rate["value"], rate["low"], rate["high"])
    needs = ", ".join(f"{counts[action]} {mark.word}" for action, mark in ACTION_MARKS.items())
    return [
        "An invented business, for show: no firm, person or address in it is real.",
        f"Loaded {loaded}; rejected {words.counted(rejected, 'row')}. The records reach {words.full_day(done.as_of)}.",
        f"Of {cracks}, {share} leaked back within 24 months ({leak_backs}).",
        model_card.sentence(model),
        f"Flagged {len(flags)} planned cracks: {needs}.",
    ]
