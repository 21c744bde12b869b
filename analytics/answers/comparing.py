"""Materials and seasons compared fairly: the plain rates, and what the same cracks would have done under each."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

import polars as pl

from analytics import risk
from analytics.answers.records import Records
from analytics.answers.remembering import remembered
from analytics.contract import words
from analytics.contract.bounds import USUAL_LEVEL, require_level, require_months
from analytics.contract.dimensions import Dimension, dimension
from analytics.contract.rows import Rows
from analytics.errors import TooFewError, UnknownNameError
from analytics.risk import Compared, HazardModel, Strata
from analytics.stats.survival import LEAST_WATCHED, LogRank

STRATA = {"resin": ("water",), "season": ("water", "resin")}
"""What may be compared, and what it mostly goes by: on both sides the same within a stratum."""
WITH = {"resin": "with", "season": "in"}
MET = {"resin": "goes to", "season": "finds"}
ABOUT_ALIKE = 1.05
NO_KIND = f"no kind of crack got each often enough, {LEAST_WATCHED} times: one goes to these cracks, another to those"
NOTHING = "there is nothing to compare: all finished cracks were done the same way"
EVERY_CRACK = "crack_id"
"""A column that is always recorded."""


@dataclass(frozen=True, eq=False)
class Comparison:
    """Choices compared within ``months`` of the repair; the frames are those of ``Compared``.

    ``said`` is why there are plain figures only, where there is too little history for more.
    """

    by: Dimension
    months: int
    level: float
    as_of: date | None
    cracks: int
    rows: pl.DataFrame
    contrasts: pl.DataFrame
    strata: pl.DataFrame
    mix: pl.DataFrame
    log_rank: LogRank | None
    left_out: tuple[str, ...]
    said: str

    def answer(self) -> dict[str, object]:
        """The answer for programs."""
        frames = {"rows": self.rows, "contrasts": self.contrasts, "strata": self.strata, "case_mix": self.mix}
        return {
            "compared": self.by.name,
            "months": self.months,
            "level": self.level,
            "as_of": self.as_of,
            "cracks": self.cracks,
            **{name: Rows.of(frame.rename({"choice": self.by.name})) for name, frame in frames.items()},
            "log_rank": None if self.log_rank is None else self.log_rank._asdict(),
            "left_out": list(self.left_out),
            "answer": self.sentence(),
            "why": self.why(),
            "said": self.said,
            "caution": risk.CAUTION,
        }

    def sentence(self) -> str:
        """What the same cracks would have done under each choice, in one sentence."""
        if self.rows.is_empty():
            return words.sentence(self.said)
        if self.said:
            return f"The plain rates alone can be told: {self.said}"
        each = [
            f"{words.percent_estimate(row['value'], row['low'], row['high'])} {WITH[self.by.name]} {_name(row)}"
            for row in self.rows.iter_rows(named=True)
        ]
        start = f"Of {words.counted(self.cracks, 'crack')}, all else as it was, {words.listed(each)} "
        within = f"within {self.months} months{words.at_level(self.level)}"
        return f"{start}would have leaked back {within}{self._apart()}."

    def why(self) -> str:
        """Why the plain rates and the fair ones differ; nothing where there are no fair ones."""
        if self.mix.is_empty():
            return ""
        row = self.mix.sort("hazard", descending=True).row(0, named=True)
        if row["hazard"] < ABOUT_ALIKE:
            return "Their cracks were about alike in all else that was recorded, so the plain rates say about the same."
        start = f"{_name(row).capitalize()} {MET[self.by.name]}"
        if row["subject"] == "water":
            shares = f"{words.percent(row['wet'], 0)} of its cracks were seeping or running, {{}} of the others"
            first = f"{start} the wet cracks: {shares.format(words.percent(row['wet_others'], 0))}."
        else:
            first = f"{start} the harder cracks, most of it for the {words.word(row['subject'])}."
        return (
            f"{first} By all else recorded those leak back {words.number(row['hazard'], 1)} times as fast as the "
            f"others whatever the {self.by.name}; in the plain rates it looks as if the {self.by.name} did that."
        )

    def _apart(self) -> str:
        """How far the choices stand apart: of two by how much, of more whether any does."""
        if self.contrasts.height == 1:
            row = self.contrasts.row(0, named=True)
            ratio = words.estimate(row["ratio"], row["ratio_low"], row["ratio_high"], 2, "×")
            beyond = "beyond" if row["stands"] else "not beyond"
            return f": {ratio} as many with {_name(row)}, {beyond} chance"
        standing = [_name(row) for row in self.contrasts.filter("stands").iter_rows(named=True)]
        return f"; beyond chance {words.listed(standing) if standing else 'none'} differs from the others"


@remembered
def compare(records: Records, name: str, *, months: int = 24, level: float = USUAL_LEVEL) -> Comparison:
    """The choices of ``name`` (resin or season) on the same cracks; UnknownNameError for anything else."""
    if name not in STRATA:
        kind = "comparison"
        raise UnknownNameError(kind, name, STRATA)
    require_months(months)
    require_level(level)
    by = dimension(name)
    strata, model, said = _compared(records, name)
    found = Compared(strata, model, months, level)
    return Comparison(
        by=by,
        months=months,
        level=level,
        as_of=records.as_of,
        cracks=int(strata.taken[strata.told].sum()),
        rows=found.rows(),
        contrasts=found.contrasts(),
        strata=found.by_stratum(),
        mix=found.case_mix(),
        log_rank=strata.log_rank,
        left_out=found.left_out(),
        said=said,
    )


def plain_rates(records: Records, name: str, ages_months: Sequence[int]) -> pl.DataFrame:
    """The plain rates of the cracks compared, at several ages: as in ``Strata.rates``, the choice under ``name``."""
    strata, _, _ = _compared(records, name)
    return strata.rates(ages_months, USUAL_LEVEL).rename({"choice": name})


@remembered
def _compared(records: Records, name: str) -> tuple[Strata, HazardModel | None, str]:
    """The strata and the hazard to compare them by; without one none is compared, and why."""
    strata = _strata(records, name)
    model, said = _model(records, strata)
    return strata if model else replace(strata, compared=False), model, said


@remembered
def _strata(records: Records, name: str) -> Strata:
    """The finished cracks on which ``name`` is recorded, whatever months are asked about."""
    by = dimension(name)
    cracks = _recorded(records, by.column)
    present = set(cracks[by.column].unique())
    choices = [value for value in by.values if value in present]
    return Strata(cracks, by.column, choices, [dimension(one).column for one in STRATA[name]])


def _model(records: Records, strata: Strata) -> tuple[HazardModel | None, str]:
    """The hazard to compare by; None and why where there is too little. One for all columns without gaps."""
    if len(strata.choices) < risk.PAIR:
        return None, NOTHING if strata.choices else _none_done(strata)
    if rare := _too_rare(strata):
        return None, rare
    gaps = _done(records)[strata.column].null_count()
    model, said = _hazard(records, strata.column if gaps else EVERY_CRACK)
    return (model, said) if model is None or strata.kept.any() else (None, NO_KIND)


def _none_done(strata: Strata) -> str:
    return f"there is nothing to compare: no finished crack has its {strata.column} written down"


def _too_rare(strata: Strata) -> str:
    """Which choice was taken too seldom for the hazard to know an effect of it; nothing where each was often enough."""
    watched = strata.cracks.filter(pl.col("watched_days") > 0)[strata.column]
    cracks, rarest = min((int((watched == choice).sum()), choice) for choice in strata.choices)
    if cracks >= risk.ENOUGH_CRACKS:
        return ""
    few = f"{words.counted(cracks, 'crack')} {WITH[strata.column]} {words.word(rarest)}"
    return f"only {few}; {risk.ENOUGH_CRACKS} are needed"


@remembered
def _hazard(records: Records, column: str) -> tuple[HazardModel | None, str]:
    """The hazard of the cracks whose ``column`` is recorded."""
    if records.as_of is None:
        return None, NOTHING
    try:
        return risk.fit_lightly(_recorded(records, column), records.as_of), ""
    except TooFewError as error:
        return None, str(error)


def _recorded(records: Records, column: str) -> pl.DataFrame:
    return _done(records).filter(pl.col(column).is_not_null())


def _done(records: Records) -> pl.DataFrame:
    return records.ask("follow_up", read=risk.READ)


def _name(row: Mapping[str, object]) -> str:
    return words.word(str(row["choice"]))
