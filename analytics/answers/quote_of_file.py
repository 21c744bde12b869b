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
from analytics.intake import ColumnMap


def quote_file(
    records: Records,
    path: Path,
    column_map: ColumnMap | None = None,
    *,
    level: float = quoting.LEVEL,
    months: int = quoting.MONTHS,
) -> quoting.Quotes:
    """A quote for each crack of the file at ``path``, as ``from_file`` reads it; a job's price is shared out over its.

    Raises:
        UnreadableFileError, MapError: as ``from_file`` does.
    """
    keyring = keyring_of(records)
    site_codes = None if keyring is None else keyring.site_codes
    asked = from_file(path, partial(crew_asked, records), column_map, site_codes)
    return quoting.quote(records, _priced(records, _with_records(records, asked)), level=level, months=months)


def _with_records(records: Records, asked: CracksToQuote) -> CracksToQuote:
    """The cracks with the season of their planned day and the leak-backs of their site.

    A price quoted while the rates were in another currency is none to hold against today's costs.
    """
    month = pl.col("planned_on").dt.month().cast(pl.Int64)
    seasons = records.ask("seasons").select(pl.col("month").cast(pl.Int64), "season")
    since = currencies.since(records)
    older = pl.lit(value=False) if since is None else (pl.col("quoted_on") < since).fill_null(value=False)
    cracks = (
        asked.cracks.drop("season", "site_leak_backs")
        .with_columns(month=month, price_quoted=pl.when(~older).then("price_quoted"))
        .join(seasons, on="month", how="left", maintain_order="left")
        .join(records.ask("site_leak_backs"), on="site_id", how="left", maintain_order="left")
        .with_columns(pl.col("site_leak_backs").fill_null(0))
    )
    return replace(asked, cracks=cracks.drop("month"))


def _priced(records: Records, asked: CracksToQuote) -> CracksToQuote:
    """The cracks with their share of what was quoted for their job, where the file gives none of its cracks a price.

    It is shared out only over a whole job: of a part of its cracks nobody knows what part of the price is theirs.
    """
    cracks = asked.cracks
    own = pl.col("price").is_not_null().any().over("job_id")
    in_part = pl.len().over("job_id") < pl.col("cracks_on_job")
    share = share_of_price(flagging.not_to_inject(records, cracks))
    parts = cracks.filter(in_part & ~own & pl.col("price_quoted").is_not_null())["job_id"].unique(maintain_order=True)
    said = f"The price quoted is held against no costs where not every crack is quoted: {some(parts.to_list(), 'job')}."
    return replace(
        asked,
        cracks=cracks.with_columns(price=pl.when(own | in_part).then("price").otherwise(share)),
        unused=(*asked.unused, said) if len(parts) else asked.unused,
    )
