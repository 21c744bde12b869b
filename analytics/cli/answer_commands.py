"""Commands that answer from the records."""

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from analytics.cli.options import as_of_option, format_option, level_option, months_option, named, store_option
from analytics.cli.printing import emit, working
from analytics.contract.bounds import USUAL_LEVEL

if TYPE_CHECKING:
    from analytics.pages.page import Page


@click.command(epilog="Example: leakback measure leak_back_rate --by resin,season --months 24 --level 0.9")
@click.argument("metric")
@click.option("--by", default="", help="Groupings, split by commas, such as resin,season.")
@click.option("--only", multiple=True, metavar="KEY=VALUE", help="Keep only these cracks, such as water=seeping.")
@months_option
@level_option(USUAL_LEVEL)
@as_of_option
@store_option
@format_option
def measure(
    metric: str,
    by: str,
    only: tuple[str, ...],
    months: int,
    level: float,
    as_of: date | None,
    store: Path,
    form: str,
) -> None:
    """Measure METRIC: leak_back_rate, material_per_metre, take_ratio, labour_per_crack or labour_per_metre."""
    from analytics.answers import measuring
    from analytics.answers.records import Records
    from analytics.pages import measured

    narrowing = dict(_pair(text) for text in only)
    records = Records.of(store, as_of)
    with working("measuring"):
        found = measuring.measure(records, metric, named(by), months=months, level=level, only=narrowing)
    emit(form, lambda: measuring.answer(records, found), "rows", lambda: measured.build(records, found))


def _pair(text: str) -> tuple[str, str]:
    key, equals, value = text.partition("=")
    if not equals or not key.strip() or not value.strip():
        raise click.UsageError(f"--only {text!r}: write it as KEY=VALUE, such as water=seeping")
    return key.strip(), value.strip()


@click.command(epilog="Example: leakback fit --format json")
@store_option
@format_option
def fit(store: Path, form: str) -> None:
    """Fit, check and keep the risk model."""
    from analytics.answers import model_card, modelling
    from analytics.answers.records import Records

    def page() -> "Page":
        from analytics.pages import trust

        return trust.card(model, drawn=False)

    records = Records.of(store)
    with working("fitting and checking the risk model"):
        model = modelling.fit(records)
    emit(form, lambda: model_card.answer(model), "trained_on", page)


@click.command(epilog="Example: leakback flags --all --format json")
@months_option
@level_option(USUAL_LEVEL)
@click.option("--all", "everything", is_flag=True, help="Show the cracks that need nothing special too.")
@store_option
@format_option
def flags(months: int, level: float, everything: bool, store: Path, form: str) -> None:
    """Flag the planned cracks: engineer first, measure first, extra prep or standard, and why."""
    from analytics.answers import flagging
    from analytics.answers.records import Records
    from analytics.pages import upcoming

    records = Records.of(store)
    with working("reading the risks of the planned cracks"):
        found = flagging.flags(records, months=months, level=level)
    emit(
        form,
        lambda: found.answer(everything=everything),
        "rows",
        lambda: upcoming.build_list(found, everything=everything),
    )
