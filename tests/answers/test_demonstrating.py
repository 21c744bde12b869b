"""The invented business goes into an empty store only, says so, and is taken out whole."""

from pathlib import Path

import pytest

from analytics.answers.demonstrating import INVENTED, fill, take_out
from analytics.answers.loading import begin
from analytics.answers.records import Records, policy_path
from analytics.contract.policy import PUBLISHED
from analytics.contract.settings import policy_text
from analytics.errors import LeakbackError
from analytics.pages import bring, today
from analytics.pages.form import Form
from analytics.pages.page import Section
from analytics.pages.upload import Upload
from tests.pages.test_narrowing import tables


def test_it_fills_an_empty_store_and_is_taken_out_whole(store_path: Path) -> None:
    assert begin(store_path)
    assert not begin(store_path)
    empty = today.build(Records.of(store_path), {})
    assert empty.answer.startswith("Nothing is loaded yet")
    assert [part.title for part in empty.parts if isinstance(part, Section)][-1] == "Look around first"
    fill(store_path)
    records = Records.of(store_path)
    assert records.store.meta(INVENTED)
    assert tables(today.build(records, {}))
    offered = bring.build(records, {}).parts
    assert any(isinstance(part, Form) for part in offered)
    assert not any(isinstance(part, Upload) for part in offered)
    with pytest.raises(LeakbackError, match="holds records already"):
        fill(store_path)
    take_out(store_path)
    after = Records.of(store_path)
    assert after.as_of is None
    assert not after.store.meta(INVENTED)
    assert not policy_path(store_path).exists()
    with pytest.raises(LeakbackError, match="does not hold the invented business"):
        take_out(store_path)


def test_a_policy_of_ones_own_stays(store_path: Path) -> None:
    begin(store_path)
    policy_path(store_path).write_text(policy_text(PUBLISHED), encoding="utf-8")
    fill(store_path)
    take_out(store_path)
    assert policy_path(store_path).read_text(encoding="utf-8") == policy_text(PUBLISHED)
