import polars as pl
import pytest

from analytics.errors import MapError
from analytics.intake.days import day_codes, days
from analytics.intake.numerals import numbers, settle_mark
from analytics.intake.sheet import Mark
from analytics.intake.units import converted, scale

# One inch is 25.4 mm and one foot 0.3048 m exactly; one US gallon is 231 cubic inches, 3.785 411 784 L; one US fluid
# ounce is a 128th of it; one imperial gallon is 4.546 09 L: NIST Special Publication 811 (2008), Appendix B.8.
EXACT = [
    ("in", "mm", 25.4),
    ("ft", "m", 0.3048),
    ("yd", "m", 0.9144),
    ("cm", "mm", 10),
    ("gal", "L", 3.785411784),
    ("fl oz", "L", 3.785411784 / 128),
    ("imperial gallon", "L", 4.54609),
    ("ml", "L", 0.001),
    ("hours", "min", 60),
    ("hours", "person-min", 60),
    ("2 hours", "person-min", 120),
    ("years", "months", 12),
    ("cartridge of 300 ml", "L", 0.3),
    ("a pail of 5 gallons", "L", 5 * 3.785411784),
    ("tube of 22 fl oz", "L", 22 * 3.785411784 / 128),
]


@pytest.mark.parametrize(("unit", "target", "factor"), EXACT)
def test_a_unit_is_what_its_definition_says(unit: str, target: str, factor: float) -> None:
    assert scale(unit, target).times == pytest.approx(factor, rel=1e-12)


@pytest.mark.parametrize(("fahrenheit", "celsius"), [("32", 0.0), ("50", 10.0), ("212", 100.0), ("-40", -40.0)])
def test_a_temperature_moves_as_well_as_stretches(fahrenheit: str, celsius: float) -> None:
    found = converted(pl.Series([fahrenheit]), "°F", "°C", "point").item()
    assert str(found) == str(celsius)  # 32 °F is no -0.0


@pytest.mark.parametrize(
    ("cell", "inches"),
    [
        ("1/8", 0.125),
        (".02", 0.02),
        ('1 1/2"', 1.5),
        ("1-1/2", 1.5),
        ("½", 0.5),
        ('1½"', 1.5),
        ("2' 6\"", 30),
        ("2'6 1/2\"", 30.5),
        ("2 ft 6 in", 30),
        ("3' - 4\"", 40),
        ("30", 30),
        ('30"', 30),
        ("2′ 6″", 30),
        ("9/8", 1.125),
        ("12 mm", 12 / 25.4),
        ("1.5 ft", 18),
    ],
)
def test_inches_are_read_as_they_are_written(cell: str, inches: float) -> None:
    assert converted(pl.Series([cell]), "inches", "mm", "point").item() == pytest.approx(inches * 25.4, abs=1e-6)


@pytest.mark.parametrize(
    "cell", ["1/0", "1 9/8", "1/8/2", "2.5' 6\"", "abc", "12 L", "5 min", '1/8" x', "--3", "1 2", "'"]
)
def test_what_is_no_length_is_not_read(cell: str) -> None:
    assert converted(pl.Series([cell]), "inches", "mm", "point").item() is None


@pytest.mark.parametrize(("unit", "target"), [("ft", "m"), ("gal", "L"), ("hours", "min"), ("mm", "mm")])
def test_a_fraction_is_only_of_inches(unit: str, target: str) -> None:
    assert converted(pl.Series(["1/2"]), unit, target, "point").item() is None


def test_hours_may_be_written_as_a_clock_does() -> None:
    cells = pl.Series(["2:10", "0:45", "1.5", "90 min", "1899-12-31 02:10:00", "1900-01-01 12:00:00", "2:75"])
    assert converted(cells, "hours", "person-min", "point").to_list() == [130, 45, 90, 90, 130, 2160, None]


@pytest.mark.parametrize(
    ("unit", "target", "said"),
    [
        ("hourz", "min", "did you mean hour"),
        ("cartridge", "L", "cartridge of 300 ml"),
        ("ft", "L", "does not measure"),
        ("mil", "mm", "did you mean|unknown unit"),
    ],
)
def test_a_unit_that_cannot_be_is_named(unit: str, target: str, said: str) -> None:
    with pytest.raises(MapError, match=said):
        scale(unit, target)


@pytest.mark.parametrize(
    ("cells", "mark"),
    [
        (["1.5", "2"], "point"),
        (["1,5"], "comma"),
        (["0,125"], "comma"),
        (["1,5", "2.5"], "both"),
        (["1,234"], "point"),
        (["1.234"], "point"),
        (["12345,6"], "comma"),
        (["-0.5"], "point"),
        ([], "point"),
    ],
)
def test_the_decimal_mark_is_settled_by_the_cells_that_leave_no_doubt(cells: list[str], mark: Mark) -> None:
    assert settle_mark([pl.Series(cells, dtype=pl.String)]) == mark


@pytest.mark.parametrize(
    ("cell", "mark", "thousands", "read"),
    [
        ("1,234", "point", False, None),
        ("1,234", "point", True, 1234),
        ("0,125", "point", True, 0.125),
        ("1,234,567.5", "point", True, 1234567.5),
        ("1,23,456", "point", True, None),
        ("1.234", "comma", False, None),
        ("1.234", "comma", True, 1234),
        ("1 234,50", "comma", True, 1234.5),
        ("1,234", "comma", False, 1.234),
        ("1.234", "both", False, None),
        ("1e3", "point", False, 1000),
        ("1_000", "point", False, None),
        ("٣", "point", False, None),
        ("0x1f", "point", False, None),
    ],
)
def test_nothing_ambiguous_is_read(cell: str, mark: Mark, thousands: bool, read: float | None) -> None:
    found = numbers(pl.Series([cell]), mark, thousands=thousands).cast(pl.Float64).item()
    assert found == read


@pytest.mark.parametrize(
    ("said", "codes"),
    [
        ("DD/MM/YYYY", "%d/%m/%Y"),
        ("M/D/YY", "%m/%d/%y"),
        ("D MMM YYYY", "%d %b %Y"),
        ("YYYY.MM.DD", "%Y.%m.%d"),
        ("%d-%b-%y", "%d-%b-%y"),
        ("day numbers", "day numbers"),
    ],
)
def test_a_date_format_is_said_as_people_say_it(said: str, codes: str) -> None:
    assert day_codes(said) == codes


@pytest.mark.parametrize(
    ("cell", "codes", "day"),
    [
        ("3/4/2025", "%d/%m/%Y", "2025-04-03"),
        ("3/4/2025", "%m/%d/%Y", "2025-03-04"),
        ("3/4/2025", "", None),
        ("3/4/25", "%d/%m/%Y", None),
        ("3/4/25", "%d/%m/%y", "2025-04-03"),
        ("3/4/2025 2:30 PM", "%d/%m/%Y", "2025-04-03"),
        ("3 Sept 2025", "%d %b %Y", "2025-09-03"),
        ("2025-04-03", "%d/%m/%Y", "2025-04-03"),
        ("2025-04-03T14:30:00", "", "2025-04-03"),
        ("2025-04-03T23:30:00Z", "", None),
        ("45750", "day numbers", "2025-04-03"),
        ("45750", "", None),
        ("1949-12-31", "", None),
        ("2025-02-29", "", None),
    ],
)
def test_a_day_is_read_in_the_order_that_is_said_and_never_guessed(cell: str, codes: str, day: str | None) -> None:
    found = days(pl.Series([cell]), codes).item()
    assert (found and found.isoformat()) == day
