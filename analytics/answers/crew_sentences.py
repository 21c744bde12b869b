"""What the crews' figures say, in sentences a lead can act on."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from analytics.answers.steady import steady
from analytics.contract import words
from analytics.contract.ages import MONTHS_PER_YEAR
from analytics.crews import CREW_YEARS_A_FALSE_ALARM, FEWEST_FOR_SPREAD, PRACTICES, Profile, expected_needed
from analytics.stats.multiplicity import FALSE_DISCOVERIES

Row = Mapping[str, Any]

NOTHING_EXPECTED = "too few leak-backs in all to say what to expect of a crew"
NOTABLE_PART = 1.02
NOTABLE_HABIT = 0.1
"""A habit this far from the others' (share of cracks) is worth a word even where the records show no harm in it."""
FEW_EXPECTED = 10
NONE_YET = "No finished repair of any crew yet."
NOT_SURE = ", as one of several crews may by chance"
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_PRACTICE = {practice.feature: practice for practice in PRACTICES}


def opening(rows: pl.DataFrame, said: str) -> str:
    """The answer in a sentence or two: who stands out, and who cannot be judged yet."""
    if rows.is_empty():
        return NONE_YET
    if rows["ratio"].null_count() == rows.height:
        return f"Too little to judge any crew: {said}"
    high, low = (rows.filter(pl.col("signal") == signal).to_dicts() for signal in ("high", "low"))
    thin = rows.filter(pl.col("more_cracks_needed").is_not_null())["crew_id"].sort().to_list()
    alone = rows.filter(not_held())["crew_id"].sort().to_list()
    judged = rows.height - len(thin) - len(alone)
    sentences = [_standing_out(high, judged, "more"), _standing_out(low, judged, "fewer")]
    if not any(sentences) and not judged and not alone:
        return "No crew can be judged yet: each has too few cracks."
    if not any(sentences):
        stands = f"None of {_number(judged)} crews stands" if judged > 1 else "The one crew to judge does not stand"
        explained = f"{stands} out: chance and the cracks they were given explain the difference."
        sentences = [explained if judged else "No crew can be judged yet.", _nearest(rows)]
    if thin:
        have = "has" if len(thin) == 1 else "have"
        sentences.append(f"{words.listed(thin)} {have} too few cracks watched long enough to judge.")
    if alone:
        sentences.append(f"Nothing to hold {words.listed(alone)} against: the other crews have too few leak-backs.")
    return " ".join(sentence for sentence in sentences if sentence)


def _nearest(rows: pl.DataFrame) -> str:
    """Which crew comes nearest to standing out, where its interval by itself leaves out 1; nothing where none does."""
    judged = rows.filter(pl.col("more_cracks_needed").is_null()).drop_nulls(["low", "high"]).sort("p_value", "crew_id")
    row = next(filter(_leaves_out_1, judged.iter_rows(named=True)), None)
    if row is None:
        return ""
    return f"{row['crew_id']} comes nearest: {against(row)}{NOT_SURE}."


def _leaves_out_1(row: Row) -> bool:
    return bool(row["low"] > 1 or row["high"] < 1)


def not_held() -> pl.Expr:
    """Whether there is nothing to hold a crew against."""
    return pl.col("expected").is_null()


def against(row: Row, of: str = "") -> str:
    """``77 against 26 expected (3.0 ×, 2.4 to 3.7)``; with what was counted, where nothing before it says so."""
    ratio = f"{words.number(row['ratio'], 1, '×')}, {words.interval(row['low'], row['high'], 1)}"
    digits = 0 if row["expected"] >= FEW_EXPECTED else 1
    seen = words.counted(row["observed"], of) if of else words.number(row["observed"])
    return f"{seen} against {words.number(row['expected'], digits)} expected ({ratio})"


def note(row: Row, months: int, high: Sequence[str] = (), *, by_spread: bool) -> str:
    """What the figures say of one crew; ``high`` are the crews signalled high."""
    if row["ratio"] is None:
        return "finished too lately to be watched"
    if high and row["low_beside_high"]:
        return f"fewer only beside {words.listed(high)}: {_without(row, high)}"
    if row["signal"] != "none":
        many = "more" if row["signal"] == "high" else "fewer"
        inside = row["wide_low_998"] <= row["ratio"] <= row["wide_high_998"] and not by_spread
        hidden = (
            "; inside the dotted limits, but with fewer than "
            f"{FEWEST_FOR_SPREAD} crews one that stands out widens those by itself"
        )
        beside = f"; so too {_without(row, high)}" if high and row["signal"] == "low" else ""
        return f"{many} than its cracks and chance explain{beside}{hidden if inside else ''}"
    if row["more_cracks_needed"] is None:
        said = f"its interval leaves out 1{NOT_SURE}" if _leaves_out_1(row) else "chance and its cracks explain it"
        return f"{said}; {_without(row, high)}" if high else said
    return _too_few(row, months)


def _too_few(row: Row, months: int) -> str:
    """What it would take to judge a crew."""
    if row["expected_needed"] is None:
        return "too few leak-backs of the other crews to judge it by"
    if row["more_cracks_needed"] == 0:
        return f"too few to judge until more of its cracks have been watched for {months} months"
    more = words.counted(row["more_cracks_needed"], "more crack")
    return f"too few to judge: {more} watched for {months} months would do"


def _without(row: Row, high: Sequence[str]) -> str:
    """``without C05 among the others 0.9 × (0.7 to 1.2)``."""
    without = f"without {words.listed(high)} among the others"
    if row["ratio_without"] is None:
        return f"{without} too little is left to hold it against"
    ends = (row["ratio_without"], row["ratio_without_low"], row["ratio_without_high"])
    chance = ", as chance may make it" if row["low_beside_high"] else ""
    return f"{without} {words.estimate(*ends, 1, '×')}{chance}"


def size_needed(row: Row) -> str:
    """How large a crew must be before a doubling would be noticed."""
    if row["expected_needed"] is None:
        return "The other crews have too few leak-backs to say closely enough what to expect of it."
    return (
        f"Were it twice as bad, that would show four times in five only from "
        f"{words.number(row['expected_needed'], 1)} leak-backs expected on; of its cracks "
        f"{words.number(row['expected'], 1)} are expected."
    )


def practices(rows: pl.DataFrame, habits: pl.DataFrame) -> pl.DataFrame:
    """The habits with leak_backs (of the crew's observed, how many go with it), standing and the sentence ``says``.

    Standing: carries (surely part of the difference), perhaps, not shown (a habit apart whose harm the records do not
    show), or alike.
    """
    seen = rows.select("crew_id", "observed")
    counted = habits.join(seen, on="crew_id", how="left", maintain_order="left").with_columns(
        leak_backs=pl.col("observed") * (1 - 1 / pl.col("part")),
        standing=pl.when((pl.col("part") >= NOTABLE_PART) & (pl.col("part_low") > 1))
        .then(pl.lit("carries"))
        .when(pl.col("part") >= NOTABLE_PART)
        .then(pl.lit("perhaps"))
        .when(pl.col("share") - pl.col("others_share") >= NOTABLE_HABIT)
        .then(pl.lit("not shown"))
        .otherwise(pl.lit("alike")),
    )
    says = [_practice(row) for row in counted.iter_rows(named=True)]
    return counted.with_columns(pl.Series("says", says, dtype=pl.String))


def before_and_after(row: Row) -> str:
    """The ratio, and what is left of it once the crew's practice is taken into account."""
    before = words.number(row["ratio"], 1, "×")
    after = words.estimate(row["after_practice"], row["after_practice_low"], row["after_practice_high"], 1, "×")
    return (
        f"With its practice taken into account, {row['crew_id']}'s {before} becomes {after}. "
        "Neither its cracks nor these practices explain what is left."
    )


def ran_past(crew: str, months: Sequence[date]) -> str:
    """When a crew's run passed its limit."""
    if not months:
        return f"{crew}'s run has never passed its limit."
    first = f"{months[0]:%B %Y}"
    if len(months) == 1:
        return f"{crew}'s run passed its limit in {first}."
    times = f"{_number(len(months))} times" if len(months) > 2 else "twice"  # noqa: PLR2004, the word for two
    return f"{crew}'s run passed its limit {times}, first in {first}, last in {months[-1]:%B %Y}."


def false_alarms(runs: pl.DataFrame) -> str:
    """How often chance alone would raise an alarm, and in how many crew-years."""
    years = runs.height / MONTHS_PER_YEAR
    chance = years / CREW_YEARS_A_FALSE_ALARM
    return (
        f"By chance alone a run passes its limit once in {CREW_YEARS_A_FALSE_ALARM:.0f} crew-years (5 % in two years "
        f"of one crew). These crews have {years:.0f} crew-years behind them, so expect about {words.number(chance, 1)} "
        f"false alarm{'' if round(chance, 1) == 1 else 's'} in that time."
    )


def method(profile: Profile, runs: pl.DataFrame) -> dict[str, object]:
    """How it was decided, as figures."""
    return {
        "false_discoveries": FALSE_DISCOVERIES,
        "decided_by": "chance and the spread between crews" if profile.by_spread else "chance alone",
        "spread_between_crews": steady(profile.spread),
        "clustering_in_jobs": steady(profile.clustering),
        "expected_needed": expected_needed(),
        "crew_years": runs.height / MONTHS_PER_YEAR,
        "crew_years_a_false_alarm": CREW_YEARS_A_FALSE_ALARM,
    }


def _practice(row: Row) -> str:
    practice = _PRACTICE[row["feature"]]
    of_cracks = (
        f"{words.percent(row['share'], 0)} of its cracks, the other crews on {words.percent(row['others_share'], 0)}"
    )
    habit = f"{row['crew_id']} {practice.leaves} on {of_cracks}"
    effect = words.estimate(row["effect"], row["effect_low"], row["effect_high"], 1, "×")
    if row["standing"] == "alike":
        return f"{habit}: no great difference."
    if row["standing"] == "not shown":
        return f"{habit}; your jobs do not show that {practice.cracks} leak back more often: {effect}."
    part = words.estimate(row["part"], row["part_low"], row["part_high"], 2, "×")
    count = f"about {words.number(row['leak_backs'])} of {words.number(row['observed'])}"
    doubt = "" if row["standing"] == "carries" else ", though that may be chance"
    return (
        f"{habit}. In your jobs {practice.cracks} leak back {effect} as often, so its leak-backs are {part} what they "
        f"would be with the others' habit: {count} go with it{doubt}."
    )


def _standing_out(rows: Sequence[Row], judged: int, many: str) -> str:
    """Who stands out of the crews ``judged``; those that cannot be are told apart."""
    if not rows:
        return ""
    if len(rows) == 1:
        row = rows[0]
        one = f"One crew of {_number(judged)}" if judged > 1 else "The one crew to judge"
        of = f"{one}, {row['crew_id']},"
        return f"{of} has {many} leak-backs than its cracks explain: {against(row)}."
    each = "; ".join(f"{row['crew_id']}, {against(row)}" for row in rows)
    of = f"{_number(len(rows)).capitalize()} crews of {_number(judged)}"
    return f"{of} have {many} leak-backs than their cracks explain: {each}."


def _number(count: int) -> str:
    return _NUMBERS[count] if count < len(_NUMBERS) else words.number(count)
