from pathlib import Path

import pytest

from analytics.contract.people import People, people_text, plain_name, read_people
from analytics.contract.roles import ROLES, Role
from analytics.errors import PeopleError, UnknownNameError


def test_what_is_written_reads_back(tmp_path: Path) -> None:
    people: dict[str, Role] = {f"{role}@example.org": role for role in ROLES} | {"248289761001": "lead"}
    path = tmp_path / "shop.people.toml"
    path.write_text(people_text(people))
    assert read_people(path).people == people


def test_nobody_has_a_role_without_a_file(tmp_path: Path) -> None:
    assert read_people(tmp_path / "shop.people.toml") == People()


@pytest.mark.parametrize(
    ("text", "error", "said"),
    [
        ('[people]\n"a@example.org" = "boss"', UnknownNameError, "unknown role of a@example.org in p.toml 'boss'"),
        ('[person]\n"a@example.org" = "lead"', PeopleError, "person is no section"),
        ('people = "a@example.org"', PeopleError, "must hold lines"),
        ('[people]\n"a@example.org" = 3', UnknownNameError, "'3'"),
        ('[people\n"a@example.org" = "lead"', PeopleError, "not valid TOML"),
        ('[people]\n"a@example.org" = "lead"\n"A@example.org" = "owner"', PeopleError, "stands there twice"),
    ],
)
def test_a_faulty_line_is_named_in_one_sentence(tmp_path: Path, text: str, error: type[Exception], said: str) -> None:
    path = tmp_path / "p.toml"
    path.write_text(text)
    with pytest.raises(error, match=r"p\.toml") as caught:
        read_people(path)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_an_address_is_one_in_any_capitals_and_a_subject_is_not() -> None:
    assert plain_name(" Anna@Example.org ") == "anna@example.org"
    assert plain_name("AbC") == "AbC"


def test_the_first_name_with_a_role_counts() -> None:
    people = People(people={"a@example.org": "lead", "subject-1": "owner"})
    assert people.role("a@example.org", "subject-1") == ("a@example.org", "lead")
    assert people.role(None, "subject-1") == ("subject-1", "owner")
    assert people.role(None, None) is None
