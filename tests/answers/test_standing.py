"""A write asks who is there, wherever it comes from."""

from pathlib import Path

import pytest

from analytics.answers import loading, modelling, recording, scenarios
from analytics.answers.records import Records
from analytics.answers.standing import HERE, NOBODY, SERVING_VARIABLE, Person, allowed, asking, needs, present
from analytics.contract.roles import ACTS, RIGHTS, ROLES, Act, Role
from analytics.errors import NotAllowedError
from analytics.store import Store


def test_on_the_command_line_the_owner_asks() -> None:
    assert present() == HERE
    assert all(allowed(act) for act in ACTS)


def test_in_a_server_nobody_asks_until_it_is_said_who(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(SERVING_VARIABLE, "1")
    assert present() == NOBODY
    assert not any(allowed(act) for act in ACTS)
    with asking(HERE):
        assert present() == HERE
    assert present() == NOBODY


@pytest.mark.parametrize("role", ROLES)
@pytest.mark.parametrize("act", ACTS)
def test_a_guarded_write_is_done_for_whom_it_is_allowed_alone(role: Role, act: Act) -> None:
    done = []

    @needs(act)
    def change() -> None:
        done.append(role)

    with asking(Person(role, "somebody")):
        if act in RIGHTS[role].acts:
            change()
        else:
            with pytest.raises(NotAllowedError, match=rf"may not {ACTS[act]}. Ask an owner"):
                change()
    assert bool(done) == (act in RIGHTS[role].acts)


def test_a_forced_write_changes_nothing(demo_store: Path) -> None:
    before = Store(demo_store).state()
    records = Records.of(demo_store)
    crack = records.ask("planned_cracks").row(0, named=True)
    job, path = crack["job_id"], demo_store
    with asking(Person("viewer", "vera@example.org")):
        for write in (
            lambda: recording.plan_job(path, {"job_id": "J-9999"}, []),
            lambda: recording.change_job(path, job, {"travel_minutes": "3"}),
            lambda: recording.close_job(path, job, {"done_on": "2026-11-01"}, {}),
            lambda: recording.record_call(path, job, {"callback_id": "K-1"}),
            lambda: recording.record_decision(path, job, crack["crack_id"], {"decision": "inject"}),
            lambda: loading.load_sources(path, ()),
            lambda: loading.load(path, ()),
            lambda: loading.undo(path),
            lambda: modelling.fit(records),
            lambda: scenarios.save(records, "dearer", labour_hour=90),
            lambda: scenarios.remove(records, "dearer"),
        ):
            with pytest.raises(NotAllowedError, match="Not done: a viewer may not"):
                write()
    assert Store(demo_store).state() == before
