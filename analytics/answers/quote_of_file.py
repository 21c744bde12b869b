"""A quote for each crack of a file: with what its jobs say, and what the records know of these."""

from dataclasses import replace
from functools import partial
from pathlib import Path

import polars as pl

from analytics.answers import currencies, flagging, quoting
from analytics.answers.crew_asked import crew_asked, keyring_of
from analytics.answers.quote_file import from_file
from analytics.answers.quote_input import CracksToQuote, share_of_price
from analytics.answers.quote_rows import some
from analytics.answers.records import Records
from analytics.contract.bounds import QUOTE_LEVEL
from analytics.contract.words import full_day
from analytics.decisions.reasons import DECISION_WORDS
from analytics.intake import ColumnMap


def quote_file(
    records: Records,
    path: Path,
    column_map: ColumnMap | None = None,
    *,
    level: float = QUOTE_LEVEL,
    months: int = quoting.MONTHS,
) -> quoting.Quotes:
    """A quote for each crack of the file at ``path``, as ``from_file`` reads it; a job's price is shared out over its.

    Raises:
        UnreadableFileError, MapError: as ``from_file`` does.
    """
    keyring = keyring_of(records)
    site_codes = None if keyring is None else keyring.site_codes
    asked = from_file(path, partial(crew_asked, records), column_map, site_codes)
    known = _with_engineers(records, _with_records(records, _without_older(records, asked)))
    return quoting.quote(records, _priced(records, known), level=level, months=months)


def _without_older(records: Records, asked: CracksToQuote) -> CracksToQuote:
    """The cracks without the prices quoted while the rates were in another currency: none to hold against today's."""
    since = currencies.since(records)
    if since is None:
        return asked
    older, prices = (pl.col("quoted_on") < since).fill_null(value=False), pl.col("price", "price_quoted")
    jobs = _jobs(asked.cracks.filter(older & pl.any_horizontal(prices.is_not_null())))
    day = full_day(since)
    said = f"Prices from before {day} are held against no costs, the rates being in another currency until then: "
    cracks = asked.cracks.with_columns(pl.when(~older).then(prices))
    return replace(asked, cracks=cracks, unused=(*asked.unused, *_of(said, jobs)))


def _with_records(records: Records, asked: CracksToQuote) -> CracksToQuote:
    """The cracks with the season of their planned day and the leak-backs of their site."""
    month = pl.col("planned_on").dt.month().cast(pl.Int64)
    seasons = records.ask("seasons").select(pl.col("month").cast(pl.Int64), "season")
    cracks = (
        asked.cracks.drop("season", "site_leak_backs")
        .with_columns(month=month)
        .join(seasons, on="month", how="left", maintain_order="left")
        .join(records.ask("site_leak_backs"), on="site_id", how="left", maintain_order="left")
        .with_columns(pl.col("site_leak_backs").fill_null(0))
    )
    return replace(asked, cracks=cracks.drop("month"))


def _with_engineers(records: Records, asked: CracksToQuote) -> CracksToQuote:
    """The cracks with the engineer's last word on those of them that the records have under the same job.

    Of another job's crack of the same number nobody knows whether it is the same crack; it is named.
    """
    words = ("asked_on", "decided_on", "decision", "reference")
    referred = records.ask("referred_cracks").select("crack_id", "job_id", pl.col(words))
    others = asked.cracks.select("crack_id", here="job_id").join(referred, on="crack_id", maintain_order="left")
    named = [
        f"{row['crack_id']} of job {row['job_id']}: {DECISION_WORDS.get(row['decision'], 'asked, not decided')}"
        for row in others.filter(pl.col("here") != pl.col("job_id")).iter_rows(named=True)
    ]
    said = "What an engineer was asked is not looked at where the file has the crack under no job or another: "
    cracks = asked.cracks.drop(words).join(referred, on=["crack_id", "job_id"], how="left", maintain_order="left")
    return replace(asked, cracks=cracks, unused=(*asked.unused, *_of(said, named, "crack")))


def _priced(records: Records, asked: CracksToQuote) -> CracksToQuote:
    """The cracks with their share of what was quoted for their job, where the file gives none of its cracks a price.

    It is shared out only over a whole job: of a part of its cracks nobody knows what part of the price is theirs.
    """
    cracks, left_out = asked.cracks, flagging.not_to_inject(records, asked.cracks)
    own, quoted = pl.col("price").is_not_null().any().over("job_id"), pl.col("price_quoted").is_not_null()
    in_part = pl.len().over("job_id") < pl.col("cracks_on_job")
    without = (pl.col("price").is_null() & ~pl.col("crack_id").is_in(left_out)).any().over("job_id")
    differ = without | (pl.col("price").sum().over("job_id") != pl.col("price_quoted"))
    unused = (
        *asked.unused,
        *_of(
            "The price quoted is held against no costs where not every crack is quoted: ",
            _jobs(cracks.filter(in_part & quoted)),
        ),
        *_of(
            "Each crack is held against its own price and the whole job against the one quoted, though these do not "
            "come to the same or not every crack has one: ",
            _jobs(cracks.filter(own & ~in_part & quoted & differ)),
        ),
    )
    price = pl.when(own | in_part).then("price").otherwise(share_of_price(left_out))
    return replace(asked, cracks=cracks.with_columns(price=price), unused=unused)


def _jobs(cracks: pl.DataFrame) -> list[str]:
    return cracks["job_id"].unique(maintain_order=True).to_list()


def _of(said: str, names: list[str], one: str = "job") -> tuple[str, ...]:
    """What is said of these; nothing of none."""
    return (f"{said}{some(names, one)}.",) if names else ()
