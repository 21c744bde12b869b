"""Watched time by age band, and records as they stood on an earlier day."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from analytics.risk import exposure
from analytics.risk.exposure import as_seen_on, by_band, seen_after, settle_bands, stand_ins, thinned

CUT = date(2023, 7, 1)
EDGES = (0, 91, 365, 730, 1826)


def test_bands_begin_at_the_horizons_the_product_uses() -> None:
    some = _lives((50.0, 9), (200.0, 9), (500.0, 9), (900.0, 9), (1900.0, 9))
    assert settle_bands(some) == (EDGES, ())


def test_periods_agree_with_a_loop_over_cracks_and_bands(world: pl.DataFrame) -> None:
    cracks = world.head(400).with_columns(entry=pl.col("watched_days") / 3)
    edges = [*EDGES, float("inf")]
    years, leaked = by_band(cracks, EDGES, entry="entry")
    for row, crack in enumerate(cracks.iter_rows(named=True)):
        for band in range(len(edges) - 1):
            start, end = max(edges[band], crack["entry"]), min(edges[band + 1], crack["watched_days"])
            here = crack["leaked_back"] and edges[band] < crack["watched_days"] <= edges[band + 1]
            assert years[row, band] == pytest.approx(max(end - start, 0) / 365.25)
            assert leaked[row, band] == float(here)


def test_no_time_and_no_leak_back_is_lost(world: pl.DataFrame) -> None:
    years, leaked = by_band(world, EDGES)
    assert years.sum() == pytest.approx(world["watched_days"].to_numpy().sum() / 365.25)
    assert leaked.sum() == world["leaked_back"].sum()


def test_a_leak_back_on_the_day_a_band_closes_belongs_to_it() -> None:
    crack = pl.DataFrame({"watched_days": [91.0], "leaked_back": [True]})
    years, leaked = by_band(crack, EDGES)
    assert years[0] == pytest.approx([91 / 365.25, 0, 0, 0, 0])
    assert leaked[0].tolist() == [1, 0, 0, 0, 0]


def test_an_earlier_day_knows_nothing_of_what_came_after(world: pl.DataFrame) -> None:
    seen = {row["crack_id"]: row for row in as_seen_on(world, CUT).iter_rows(named=True)}
    for crack in world.iter_rows(named=True):
        known = (CUT - crack["done_on"]).days
        assert (crack["crack_id"] in seen) == (known > 0)
        if known > 0:
            then = seen[crack["crack_id"]]
            assert then["watched_days"] == min(crack["watched_days"], known)
            assert then["leaked_back"] == (crack["leaked_back"] and crack["watched_days"] <= known)


def test_before_and_after_a_day_make_the_whole(world: pl.DataFrame) -> None:
    before, after = as_seen_on(world, CUT), seen_after(world, CUT)
    years, leaked = by_band(after, EDGES, entry="entry_days")
    assert before["leaked_back"].sum() + leaked.sum() == world["leaked_back"].sum()
    days = before["watched_days"].to_numpy().sum() + years.sum() * 365.25
    assert days == pytest.approx(world["watched_days"].to_numpy().sum())


def _lives(*ages: tuple[float, int]) -> pl.DataFrame:
    days = [age for age, count in ages for _ in range(count)]
    return pl.DataFrame({"watched_days": days, "leaked_back": [True] * len(days)})


def test_a_thin_band_is_joined_to_its_neighbour_and_said_so() -> None:
    edges, notes = settle_bands(_lives((50.0, 5), (200.0, 9), (500.0, 2), (900.0, 6)))
    assert edges == (0, 91, 730)
    assert len(notes) == 1
    assert notes[0].startswith("Leak-backs at ages from 12 to 24 months: 2, fewer than")


def _held(days: float, count: int) -> pl.DataFrame:
    return pl.DataFrame({"watched_days": [days] * count, "leaked_back": [False] * count})


def test_few_leak_backs_in_many_years_keep_their_own_low_hazard() -> None:
    """Joined to the second year, the later ages would be expected to have brought 29 leak-backs, where 4 came."""
    lives = pl.concat([_lives((50.0, 40), (200.0, 50), (500.0, 40), (900.0, 4)), _held(1500.0, 300)])
    edges, notes = settle_bands(lives)
    assert (edges, notes) == ((0, 91, 365, 730), ())
    years, leaked = by_band(lives, edges)
    shared = leaked[:, 2:].sum() / years[:, 2:].sum()
    assert (leaked[:, 3].sum(), round(shared * years[:, 3].sum())) == (4, 29)


def test_no_leak_back_in_many_years_is_said_to_be_foretold_too_high() -> None:
    edges, notes = settle_bands(pl.concat([_lives((50.0, 40), (200.0, 50), (500.0, 40)), _held(1500.0, 300)]))
    assert edges == (0, 91, 365)
    assert notes[0].endswith(" so what is foretold for these ages is too high.")
    few = settle_bands(pl.concat([_lives((50.0, 40), (200.0, 50), (500.0, 40)), _held(731.0, 300)]))[1]
    assert few[0].endswith(" share the rate of those next to them.")


@pytest.mark.parametrize(("earlier", "later", "cut"), [(30, 30, (1095,)), (29, 90, ()), (90, 29, ())])
def test_years_of_many_leak_backs_are_cut_in_two(earlier: int, later: int, cut: tuple[int, ...]) -> None:
    """On the day the half closes it is the half's still; half of the others are younger or older than the band."""
    lives = _lives((50.0, 9), (200.0, 9), (730.0, 40), (1095.0, earlier), (1095.5, later), (1827.0, 40))
    assert settle_bands(lives) == ((0, 91, 365, 730, *cut, 1826), ())


def test_what_falls_within_a_band_is_not_foretold_too_high_for_its_older_half() -> None:
    """90 came in the third year and 30 in the two after it: at one level 62 would be expected there."""
    lives = pl.concat([_lives((50.0, 90), (200.0, 90), (500.0, 90), (900.0, 90), (1400.0, 30)), _held(1826.0, 1500)])
    edges, _ = settle_bands(lives)
    expected = {}
    for begins in (edges, EDGES[:-1]):
        years, leaked = by_band(lives, begins)
        hazards = leaked.sum(axis=0) / years.sum(axis=0)
        expected[begins] = float((by_band(lives, (0, 1095))[0][:, 1] * hazards[-1]).sum())
    assert expected[edges] == pytest.approx(30)
    assert expected[EDGES[:-1]] > 55


def test_a_thin_first_band_is_joined_to_the_next() -> None:
    edges, notes = settle_bands(_lives((50.0, 1), (200.0, 9), (500.0, 7)))
    assert edges == (0, 365)
    assert len(notes) == 1


def test_ages_nobody_was_watched_at_need_no_word() -> None:
    edges, notes = settle_bands(_lives((50.0, 5), (200.0, 9)))
    assert (edges, notes) == ((0, 91), ())


def test_a_band_without_any_leak_back_is_joined(world: pl.DataFrame) -> None:
    quiet = world.with_columns(leaked_back=pl.col("leaked_back") & ~pl.col("watched_days").is_between(91.5, 365))
    edges, notes = settle_bands(quiet)
    assert 91 not in edges
    assert "Leak-backs at ages from 3 to 12 months: 0, fewer than" in notes[0]


def test_fewer_cracks_are_whole_jobs_of_all_years(world: pl.DataFrame) -> None:
    some = thinned(world, most=world.height // 4)
    assert some.height == pytest.approx(world.height / 4, rel=0.1)
    assert some.equals(world.filter(pl.col("job_id").is_in(some["job_id"].implode())))
    shares = [frame["done_on"].dt.year().value_counts(normalize=True).sort("done_on") for frame in (some, world)]
    assert shares[0]["proportion"].to_numpy() == pytest.approx(shares[1]["proportion"].to_numpy(), abs=0.02)
    assert thinned(world, most=world.height) is world


def test_some_that_held_stand_for_all_and_every_leak_back_for_itself(
    world: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert (stand_ins(world) == 1).all()
    leaked = world["leaked_back"].to_numpy()
    monkeypatch.setattr(exposure, "MOST_OTHERS", (~leaked).sum() // 3)
    monkeypatch.setattr(exposure, "OTHERS_A_LEAK_BACK", 1)
    weights = stand_ins(world)
    assert (weights[leaked] == 1).all()
    assert weights.sum() == pytest.approx(world.height)
    assert set(weights[~leaked].round(1)) == {0.0, 3.0}
    years, told = world["done_on"].dt.year().to_numpy(), weights[~leaked]
    of_all, of_some = np.bincount(years[~leaked])[2000:], np.bincount(years[~leaked], told)[2000:]
    assert of_some == pytest.approx(of_all, abs=3)
    shuffled = world.sample(fraction=1.0, shuffle=True, seed=5)
    assert set(shuffled.filter(stand_ins(shuffled) > 0)["crack_id"]) == set(world.filter(weights > 0)["crack_id"])


def test_of_no_more_than_a_few_a_leak_back_all_are_looked_at(
    world: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(exposure, "MOST_OTHERS", 1)
    monkeypatch.setattr(exposure, "OTHERS_A_LEAK_BACK", world.height)
    assert (stand_ins(world) == 1).all()
