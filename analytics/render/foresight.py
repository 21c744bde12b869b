"""Works out what a reader may choose next while the reader looks at a page.

A page with one choice changed, or another page, is then shown from memory. One thread does it, only while nobody waits
for a page, and what was left to do is forgotten as soon as somebody asks for another.
"""

import atexit
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from contextvars import copy_context
from functools import partial
from itertools import chain, islice, zip_longest
from threading import Condition, Thread
from time import monotonic

from analytics.pages.form import Search
from analytics.pages.page import Choice, Page, Said, TypedNumber

REST_SECONDS = 3.0
"""Who has looked at a page for so long is not about to choose."""
MOST_OPTIONS = 16
"""Who chooses among more is after one of them, not looking around."""
QUIET_SECONDS = 0.5
"""Nobody has waited for a page for so long."""
MOST_CHANGED = 16
"""Pages with one choice changed, for one look at a page."""
LAST_SECONDS = 5.0
"""What the program waits at its end for a task that was begun: a thread cut off within a library brings it down."""
MOST_SECONDS = 30.0
"""What one look may take; with very many records each page takes seconds."""
Task = Callable[[], object]


class Foresight:
    """Tasks done one at a time, once ``start`` has been called; before, none is taken."""

    def __init__(self) -> None:
        self._changed = Condition()
        self._readers = self._asked = 0
        self._tasks: deque[Task] = deque()
        self._started = self._quiet = self._at_work = False
        self._spent = 0.0

    def start(self) -> None:
        """Begin to work, in a thread that ends with the program."""
        if not self._started:
            self._started = True
            Thread(target=self._work, name="foresight", daemon=True).start()
            atexit.register(self.stop)

    def stop(self) -> None:
        """Begin nothing more, and wait a little for what was begun."""
        with self._changed:
            self._started = False
            self._tasks.clear()
            self._changed.notify_all()
            self._changed.wait_for(lambda: not self._at_work, LAST_SECONDS)

    @contextmanager
    def waited_for(self) -> Iterator[None]:
        """While somebody waits for a page nothing is begun, and what was left to do is forgotten."""
        with self._changed:
            self._readers += 1
            self._asked += 1
            self._quiet = False
            self._tasks.clear()
            self._changed.notify_all()
        try:
            yield
        finally:
            with self._changed:
                self._readers -= 1
                self._changed.notify_all()

    def then(self, tasks: Iterable[Task]) -> None:
        """Do these when it is quiet, for the reader here now; what fails, fails again for who asks."""
        if self._started:
            with self._changed:
                self._tasks.extend(partial(copy_context().run, task) for task in tasks)
                self._spent = 0.0
                self._changed.notify()

    def rest(self) -> None:
        """As a task: leave the machine to the reader for a while, and no longer once somebody waits for a page."""
        with self._changed:
            asked = self._asked
            self._changed.wait_for(lambda: self._asked > asked or not self._started, REST_SECONDS)

    def _work(self) -> None:
        while True:
            task, begun = self._next(), monotonic()
            with suppress(BaseException):  # a library that panics must not end the thread
                task()
            self._took(monotonic() - begun)

    def _next(self) -> Task:
        with self._changed:
            while True:
                self._changed.wait_for(self._may_begin)
                self._quiet = self._quiet or not self._changed.wait(QUIET_SECONDS)
                if self._quiet and self._may_begin():
                    self._at_work = True
                    return self._tasks.popleft()

    def _took(self, seconds: float) -> None:
        with self._changed:
            self._at_work = False
            self._changed.notify_all()
            self._spent += seconds
            if self._spent > MOST_SECONDS:
                self._tasks.clear()

    def _may_begin(self) -> bool:
        return bool(self._tasks) and not self._readers


def next_choices(page: Page, said: Said) -> Iterator[Said]:
    """What the address will say once one choice of the page is changed, the choices in turn, MOST_CHANGED at most.

    A box leaves its default out of the address.
    """
    in_turn = chain(*zip_longest(*(_changed(choice, said) for choice in page.choices)))
    yield from islice((told for told in in_turn if told is not None), MOST_CHANGED)


def _changed(choice: Choice | TypedNumber | Search, said: Said) -> Iterator[Said]:
    if isinstance(choice, Choice) and len(choice.options) <= MOST_OPTIONS:
        others = {key: told for key, told in said.items() if key != choice.key}
        for value, words in choice.options.items():
            if value != choice.of(said):
                yield others if value == choice.default else others | {choice.key: words}
