"""A proposed column map as a TOML file to be read, mended and approved."""

import json
from collections.abc import Iterator, Sequence

from analytics.contract.tables import TABLES
from analytics.intake.maps.column_map import Origin
from analytics.intake.maps.proposing import Guess, SheetProposal

TOP = """# How the columns of this source become ours. Read every line, mend what is wrong, then load with it:
#   leakback load FILE --map THIS_FILE
# Behind each line: how sure the guess is (0 to 1), and why. A line that begins with "# maybe" is not in force.
# A column of yours that is not named here is dropped and never kept.
"""


def map_text(proposals: Sequence[SheetProposal]) -> str:
    """The proposals for the sheets of one source as one column map."""
    ignored = [proposal.name for proposal in proposals if not proposal.tables]
    held = [proposal for proposal in proposals if proposal.tables]
    lines = [TOP, "version = 1", *_marks(held)]
    if ignored:
        lines.append(f"ignore = [{', '.join(map(_text, ignored))}]  # like none of our tables")
    for table in TABLES:
        for proposal in held:
            if table in proposal.tables:
                lines += _block(table, proposal, several=sum(table in p.tables for p in held) > 1)
    return "\n".join(lines) + "\n"


def _marks(held: Sequence[SheetProposal]) -> list[str]:
    marks = {proposal.mark for proposal in held}
    if marks == {"comma"}:
        return ["decimal_comma = true"]
    return ["decimal_comma = false"] if marks == {"point"} else []


def _block(table: str, proposal: SheetProposal, *, several: bool) -> Iterator[str]:
    yield ""
    yield f"[[{table}]]" if several else f"[{table}]"
    yield f"from = {_text(proposal.name)}"
    if proposal.fill_down:
        yield f"fill_down = [{', '.join(map(_text, proposal.fill_down))}]  # where blank: from the nearest row above"
    yield ""
    yield f"[{table}.columns]"
    for guess in proposal.guesses:
        if guess.table == table:
            yield _line(guess)
    maybe = {f"{guess.table}.{guess.column}" for guess in proposal.guesses}
    for name in proposal.missing:
        if name.startswith(f"{table}.") and name not in maybe:
            yield f'# {name.partition(".")[2]} = "?"  must be there, and nothing like it was found'
    if proposal.left and table == proposal.tables[0]:
        yield f"# left out: {', '.join(proposal.left)}".replace("\n", " ")


def _line(guess: Guess) -> str:
    line = f"{guess.column} = {origin_text(guess.origin)}  # {guess.confidence:.2f}: {' '.join(guess.reason.split())}"
    return line if guess.is_made else f"# maybe: {line}"


def origin_text(origin: Origin) -> str:
    """One column's origin in TOML: a header alone, or a table of what is said."""
    said = origin.model_dump(exclude_defaults=True)
    if set(said) == {"header"}:
        return _text(origin.header or "")
    return "{ " + ", ".join(f"{key} = {_value(value)}" for key, value in said.items()) + " }"


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_text(key)} = {_text(word)}" for key, word in value.items()) + " }"
    return _text(str(value))


def _text(text: str) -> str:
    """A TOML basic string; JSON's escapes are TOML's, but for one control sign."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
