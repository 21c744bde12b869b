"""Why what was typed was not recorded, in the words of the form it was typed in."""

import re
from collections.abc import Iterator, Sequence
from itertools import chain

from analytics.answers.job_rows import Row, Tables
from analytics.answers.records import Records
from analytics.contract import units
from analytics.contract.batch import Batch
from analytics.contract.descriptions import label, one_of
from analytics.contract.tables import TABLES
from analytics.errors import LeakbackError

_OF_A_FILE = (("the cell ", "what is typed "), ("another row of this load has", "another one has"))
"""How the reason for a rejected row begins, and how a form says so."""
_WITHOUT_UNIT = re.compile(r" in \S+, without its unit$")
"""A form's field names its unit, which may be the reader's own, and takes others."""
_IN_SI = re.compile(r"(?<=is not a number of )[^\s;]+")
"""Files and the store are in it, whatever the reader reads in."""
_WITHOUT_MAP = re.compile(r", or (?:where a file's .*|say which) in (?:its|a) column map$")
"""A form has none."""
SHOWN = 20
"""Letters of what was typed that are said again."""


class RefusedError(LeakbackError):
    """What was typed was not recorded; the message gives every reason."""

    @classmethod
    def because(cls, *reasons: str) -> "RefusedError":
        """With these reasons, each once, in one sentence."""
        return cls(f"Not recorded: {'; '.join(dict.fromkeys(reasons)).removesuffix('.')}.")


def as_a_form_says(reason: str) -> str:
    """A cell's fault in the reader's unit, without what only a file has: a unit never typed, a column map."""
    said = _IN_SI.sub(lambda found: units.shown_unit(found[0]), reason)
    return _WITHOUT_MAP.sub("", _WITHOUT_UNIT.sub("", said))


def typed_is(text: str, reason: str) -> str:
    """``“much” is not a number``: what was typed, as much of it as is said again, and the fault of it."""
    return f"“{text.strip()[:SHOWN]}” {as_a_form_says(reason)}"


def refuse_rejects(batch: Batch, typed: Tables) -> None:
    """RefusedError where rows of the batch, which were ``typed``, were rejected."""
    if said := list(_reasons(batch, typed)):
        raise RefusedError.because(*said)


def refuse_taken(records: Records, new: Tables) -> None:
    """RefusedError where a ``new`` row has the number of another one, which it would replace or settle unmended."""
    numbers = {table: [row[TABLES[table].primary_key()[0]] for row in rows] for table, rows in new.items()}
    for table, code in records.ask("taken_codes", codes=list(chain(*numbers.values()))).iter_rows():
        if code in numbers.get(table, ()):
            thing = one_of(table)
            raise RefusedError.because(
                f"a {thing} {code} is loaded already; choose another number, or change that {thing}"
            )
    for table, code in records.ask("waiting_rows").select("table", "key").iter_rows():
        if code in numbers.get(table, ()):
            raise RefusedError.because(
                f"a rejected {one_of(table)} {code} waits to be mended; choose another number, or mend that one"
            )


def _reasons(batch: Batch, typed: Tables) -> Iterator[str]:
    """Each with its field's label, and the crack it is about: a form may ask for several."""
    for table, row, column, reason in batch.rejects.select("table", "row", "column", "reason").iter_rows():
        if table != "jobs" and column == "job_id" and "jobs" in typed:
            continue  # a new job was refused, for reasons of its own
        whose = _crack(typed[table], row) if table == "cracks" else ""
        yield f"{whose}{_in_words(table, column, reason)}"


def _crack(rows: Sequence[Row], place: int) -> str:
    """``crack J-2-1, `` or, where it has no number, its place among several."""
    number = rows[place - 1]["crack_id"].strip() or (place if len(rows) > 1 else "")
    return f"crack {number}, " if number else ""


def _in_words(table: str, column: str, reason: str) -> str:
    """``resin used: “1.2 litres?” is not a number of L; …``; a rule of the whole row says itself what it is about."""
    names = "|".join(TABLES[table].columns())
    said = reason.removeprefix(f"{column} ").removeprefix("is ") if reason.startswith(f"{column} ") else reason
    for of_a_file, of_a_form in _OF_A_FILE:
        said = said.replace(of_a_file, of_a_form) if said.startswith(of_a_file) else said
    said = as_a_form_says(said)
    said = re.sub(rf"\b(?:{names})\b(?![^“]*”)", lambda found: label(found[0]), said)
    return f"{said[:1].lower()}{said[1:]}" if said[:1].isupper() or not column else f"{label(column)}: {said}"
