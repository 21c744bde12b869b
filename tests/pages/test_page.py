import pytest

from analytics.pages.page import Choice, Entry

MONTHS = Choice("months", "Leaked back within", {"12": "12 months", "24": "24 months"}, "24")
LENGTH = Entry("length_m", "Length", 2.4, 0.1, 50.0, "m")


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ({}, "24"),
        ({"months": "12"}, "12"),
        ({"months": "12 months"}, "12"),
        ({"months": "13 months"}, "24"),
        ({"branch": "12"}, "24"),
    ],
)
def test_a_choice_is_understood_as_value_and_as_words(said: dict[str, str], value: str) -> None:
    assert MONTHS.of(said) == value


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ({}, 2.4),
        ({"length_m": "3.1"}, 3.1),
        ({"length_m": "0.05"}, 2.4),
        ({"length_m": "51"}, 2.4),
        ({"length_m": "long"}, 2.4),
        ({"length_m": "nan"}, 2.4),
    ],
)
def test_an_entry_out_of_bounds_is_not_taken(said: dict[str, str], value: float) -> None:
    assert LENGTH.of(said) == value
