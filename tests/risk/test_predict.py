"""A planned crack's risk is what the kept numbers say, from what is known before the work."""

import math

import numpy as np
import polars as pl
import pytest

from analytics.errors import LeakbackError
from analytics.risk import HazardModel, average_risk, expected, horizon_note, risk
from analytics.risk.features import BY_NAME, STEPS
from analytics.risk.predict import cumulative, log_cumulative
from analytics.stats import slices


def test_a_risk_agrees_with_the_kept_numbers_worked_out_by_hand(model: HazardModel, world: pl.DataFrame) -> None:
    crack = world.filter(pl.col("movement").is_not_null())[40]
    bands, scaling = len(model.edges_days), model.scaling
    slopes = [1.0, *[0.0] * (len(model.parameters) - 1)]
    for place, name in enumerate(scaling.features):
        if BY_NAME[name].kind == "done":
            effect = model.effects[place] / scaling.scales[place]
            habit = scaling.habits[crack["crew_id"][0]][name]
            value = math.log(habit * math.exp(effect) + 1 - habit) / effect
        else:
            value = crack.select(BY_NAME[name].value.cast(pl.Float64)).item()
        slopes[bands + place] = (value - scaling.centres[place]) / scaling.scales[place]
    slopes[bands + len(scaling.features) + scaling.crews.index(crack["crew_id"][0])] = 1.0
    log = sum(slope * effect for slope, effect in zip(slopes[bands:], model.parameters[bands:], strict=True))
    yearly = [math.exp(model.parameters[0] + (model.parameters[band] if band else 0.0)) for band in range(3)]
    years = [91 / 365.25, (365 - 91) / 365.25, (730 - 365) / 365.25]
    ahead = [rate * length for rate, length in zip(yearly, years, strict=True)]
    slopes[1:3] = [ahead[1] / sum(ahead), ahead[2] / sum(ahead)]
    variance = np.array(slopes) @ np.array(model.covariance) @ np.array(slopes)
    hazard = math.log(sum(ahead)) + log
    by_hand = [1 - math.exp(-math.exp(hazard + z * math.sqrt(variance))) for z in (0.0, -1.959964, 1.959964)]
    assert risk(model, crack, 24).row(0) == (crack["crack_id"][0], *(pytest.approx(one, rel=1e-6) for one in by_hand))


def test_what_is_done_on_the_day_is_not_read(model: HazardModel, world: pl.DataFrame) -> None:
    planned = world.drop(*STEPS, "leaked_back", "watched_days")
    assert risk(model, planned, 24).equals(risk(model, world, 24))


def test_what_is_promised_is_read(model: HazardModel, world: pl.DataFrame) -> None:
    both = [
        risk(model, world.with_columns(dried=pl.lit(value=dried)), 24, promised=("dried",)) for dried in (True, False)
    ]
    assert (both[0]["risk"] < both[1]["risk"]).all()  # drying helps in this world


def test_habits_lie_between_the_crews_own_share_and_the_companys(model: HazardModel, world: pl.DataFrame) -> None:
    company = world["dried"].mean()
    own = dict(world.group_by("crew_id").agg(pl.col("dried").mean()).iter_rows())
    for crew, habit in model.scaling.habits.items():
        assert min(own[crew], company) < habit["dried"] < max(own[crew], company)


def test_a_measurement_not_recorded_takes_the_average_and_widens_the_interval(
    model: HazardModel, world: pl.DataFrame
) -> None:
    place = model.scaling.features.index("water_seeping")
    average = world.with_columns(water=pl.lit(None, pl.String))
    log = cumulative(model, average, 0.0, 730.0)
    known = cumulative(model, world, 0.0, 730.0)
    assert (log.variance > known.variance.min()).all()
    widths = [
        risk(model, frame, 24).select((pl.col("high") / pl.col("low")).mean()).item() for frame in (average, world)
    ]
    assert widths[0] > widths[1] * 1.1
    assert model.scaling.centres[place] == pytest.approx((world["water"] == "seeping").mean())


def test_a_crew_never_seen_has_the_companys_risk_less_surely(model: HazardModel, world: pl.DataFrame) -> None:
    crack = world.head(1)
    stranger = cumulative(model, crack.with_columns(crew_id=pl.lit("C-99")), 0.0, 730.0)
    nobody = cumulative(model, crack.with_columns(crew_id=pl.lit(None, pl.String)), 0.0, 730.0)
    crews = [cumulative(model, crack.with_columns(crew_id=pl.lit(name)), 0.0, 730.0) for name in model.scaling.crews]
    assert min(one.log[0] for one in crews) < stranger.log[0] < max(one.log[0] for one in crews)
    assert stranger.variance[0] > max(one.variance[0] for one in crews)
    assert stranger.log[0] == nobody.log[0]


def test_a_wider_level_gives_a_wider_interval(model: HazardModel, world: pl.DataFrame) -> None:
    narrow, wide = risk(model, world, 24, level=0.8), risk(model, world, 24, level=0.99)
    assert (wide["low"] < narrow["low"]).all()
    assert (narrow["low"] < narrow["risk"]).all()
    assert (narrow["risk"] < narrow["high"]).all()
    assert (narrow["high"] < wide["high"]).all()


def test_spans_of_age_add_up(model: HazardModel, world: pl.DataFrame) -> None:
    whole = np.exp(cumulative(model, world, 0.0, 1000.0).log)
    parts = np.exp(cumulative(model, world, 0.0, 400.0).log) + np.exp(cumulative(model, world, 400.0, 1000.0).log)
    assert parts == pytest.approx(whole)
    assert np.exp(cumulative(model, world, 400.0, 400.0).log).sum() == 0


def test_past_the_oldest_age_the_last_hazard_is_held_and_said_so(model: HazardModel, world: pl.DataFrame) -> None:
    assert horizon_note(model, 60) is None
    note = horizon_note(model, 96)
    assert note
    assert "watched for 60 months" in note
    years = [np.exp(cumulative(model, world[:1], 365.25 * year, 365.25 * (year + 1)).log)[0] for year in (4, 6)]
    assert years[0] == pytest.approx(years[1])


def test_the_average_crack_lies_among_the_cracks(model: HazardModel, world: pl.DataFrame) -> None:
    average, risks = average_risk(model, 24), risk(model, world, 24)["risk"].to_numpy()
    assert np.quantile(risks, 0.25) < average.value < np.quantile(risks, 0.75)
    assert average.low < average.value < average.high


def test_expected_grows_with_the_time_watched(model: HazardModel, world: pl.DataFrame) -> None:
    longer = world.with_columns(pl.col("watched_days") + 100)
    assert (expected(model, longer)["expected"] > expected(model, world)["expected"]).all()


def test_no_cracks_have_no_risks(model: HazardModel, world: pl.DataFrame) -> None:
    assert risk(model, world.clear(), 24).height == 0


def test_a_frame_of_blanks_alone_can_be_read(model: HazardModel) -> None:
    blank = pl.DataFrame(
        {
            "crack_id": ["K-1"],
            "crew_id": [None],
            **{column: [None] for feature in BY_NAME.values() for column in feature.columns},
        }
    )
    assert risk(model, blank, 24)["risk"].item() == pytest.approx(average_risk(model, 24).value, rel=0.05)


@pytest.mark.parametrize(("months", "level"), [(0, 0.95), (-3, 0.95), (24, 1.0), (24, 0.0)])
def test_a_horizon_or_level_that_is_none_is_refused(
    model: HazardModel, world: pl.DataFrame, months: int, level: float
) -> None:
    with pytest.raises(LeakbackError, match="must lie between"):
        risk(model, world, months, level)


def test_habits_make_the_same_risks_on_average_as_what_was_done(model: HazardModel, world: pl.DataFrame) -> None:
    planned, done = (risk(model, world, 24, promised=steps)["risk"].to_numpy().mean() for steps in ((), STEPS))
    assert planned == pytest.approx(done, rel=0.01)


def test_a_few_cracks_at_a_time_come_to_the_same(
    model: HazardModel, world: pl.DataFrame, monkeypatch: pytest.MonkeyPatch
) -> None:
    cracks, ages = world.head(300), world["watched_days"].head(300).to_numpy()
    whole = cumulative(model, cracks, 0.0, ages, STEPS).log
    monkeypatch.setattr(slices, "SLICE", 70)
    assert log_cumulative(model, cracks, 0.0, ages, STEPS) == pytest.approx(whole, rel=1e-12)
