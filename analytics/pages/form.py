"""A form as data: what is asked for, and what is done with what was typed.

Everything typed is text and goes through the same door as a file's cells, so a form checks nothing itself.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Literal

from analytics.contract.roles import Act

FieldKind = Literal["text", "number", "choice", "day"]
Typed = Mapping[str, str]
"""What was typed, by the field's key; a day as year-month-day, nothing as an empty text."""
TODAY = "today"
"""The default of a day that starts at the day the form is opened."""


@dataclass(frozen=True, slots=True)
class Search:
    """A text the reader types to find something by; it stands in the address like any choice."""

    key: str
    label: str

    def of(self, said: Mapping[str, str]) -> str:
        """What was typed, without the spaces around it; nothing as an empty text."""
        return said.get(self.key, "").strip()


@dataclass(frozen=True, slots=True)
class Field:
    """One thing asked for.

    A number is typed as text too, for it may carry its unit. ``options`` maps the values of a choice to the words a
    reader sees; a text with options suggests them and takes any other too. ``default`` is a value as text.
    """

    key: str
    label: str
    kind: FieldKind = "text"
    unit: str = ""
    help: str = ""
    options: Mapping[str, str] = field(default_factory=dict)
    default: str = ""


@dataclass(frozen=True, slots=True)
class Fieldset:
    """Fields that belong together, under a heading where there is one."""

    fields: tuple[Field, ...]
    title: str = ""


@dataclass(frozen=True, slots=True)
class Form:
    """Fields, and a button whose words are the verb.

    ``key`` tells it from the other forms of its page. ``submit`` takes what was typed and gives the sentence to show;
    a LeakbackError's sentence is shown instead, and what was typed stays. ``note`` stands above the button. ``needs``
    is the act that a reader must be allowed; undeclared, only who may do everything sees the form. ``opens`` gives the
    address of what was recorded, from what was typed.
    """

    key: str
    verb: str
    fieldsets: tuple[Fieldset, ...]
    submit: Callable[[Typed], str] = field(compare=False)
    note: str = ""
    needs: Act | None = None
    opens: Callable[[Typed], str] | None = field(default=None, compare=False)

    @property
    def fields(self) -> tuple[Field, ...]:
        """Every field, in order."""
        return tuple(each for fieldset in self.fieldsets for each in fieldset.fields)
