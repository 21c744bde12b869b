"""Who is asking: the person a door let in, and whether their role allows an act.

On the command line it is whoever the computer lets at the file: its owner, who may do everything. A server says for
every reader who they are, and until it has said so there it is nobody, who may do nothing.
"""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import wraps
from typing import ParamSpec, TypeVar

from analytics.contract.roles import ACTS, NO_RIGHTS, RIGHTS, Act, Rights, Role, may
from analytics.errors import NotAllowedError

SERVING_VARIABLE = "LEAKBACK_SERVING"
"""In the environment of a server: nobody is the owner there for want of being told."""
Given = ParamSpec("Given")
Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Person:
    """Somebody with a role, or without one; ``name`` is what they signed in with, None where nobody has to."""

    role: Role | None
    name: str | None = None

    @property
    def rights(self) -> Rights:
        """What the role allows."""
        return RIGHTS[self.role] if self.role else NO_RIGHTS


HERE = Person("owner")
NOBODY = Person(None)
_PRESENT: ContextVar[Person | None] = ContextVar("who is asking", default=None)


def present() -> Person:
    """Who is asking now."""
    return _PRESENT.get() or (NOBODY if os.environ.get(SERVING_VARIABLE) else HERE)


@contextmanager
def asking(person: Person) -> Iterator[None]:
    """Answer to this person meanwhile."""
    before = _PRESENT.set(person)
    try:
        yield
    finally:
        _PRESENT.reset(before)


def allowed(act: Act | None) -> bool:
    """Whether who is asking may do ``act``; without one, everything."""
    return present().rights.allows(act)


def needs(act: Act) -> Callable[[Callable[Given, Answer]], Callable[Given, Answer]]:
    """Marks a function that changes the store: NotAllowedError, and nothing done, for a role without that right."""

    def guard(change: Callable[Given, Answer]) -> Callable[Given, Answer]:
        @wraps(change)
        def guarded(*args: Given.args, **kwargs: Given.kwargs) -> Answer:
            if not allowed(act):
                raise NotAllowedError(refusal(present(), act))
            return change(*args, **kwargs)

        guarded.needs = act  # type: ignore[attr-defined] # for who lists what is guarded
        return guarded

    return guard


def refusal(person: Person, act: Act | None) -> str:
    """The sentence for somebody whose role does not allow ``act``, or what takes the right to do everything."""
    who = a_role(person.role) if person.role else "somebody without a role"
    others = " or ".join(a_role(role) for role in may(act))
    return f"Not done: {who} may not {ACTS[act] if act else 'do this'}. Ask {others}."


def a_role(role: Role) -> str:
    """``an owner``."""
    return f"{'an' if role[0] in 'aeiou' else 'a'} {role}"
