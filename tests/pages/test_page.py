import pytest

from analytics.pages.page import Choice

MONTHS = Choice("months", "Leaked back within", {"12": "12 months", "24": "24 months"}, "24")


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
