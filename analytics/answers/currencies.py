"""What is left out because it was written down while the rates were in another currency."""

from analytics.answers.records import Records
from analytics.contract import words


def left_out(records: Records) -> tuple[str, ...]:
    """That older amounts are left out, and since when; nothing where the rates never were in another currency."""
    since = records.ask("currency_since")["since"][0]
    if since is None:
        return ()
    day = words.full_day(since)
    return (
        f"Prices and material costs from before {day} are left out: until then the rates were in another currency.",
    )
