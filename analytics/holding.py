"""Something of the whole process that several threads switch at a time."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, ExitStack, _GeneratorContextManager, contextmanager
from functools import wraps
from threading import Lock


def until_all_left(
    switch: Callable[[], AbstractContextManager[object]],
) -> Callable[[], _GeneratorContextManager[None]]:
    """Undo what ``switch`` switches only once everybody inside has left, whoever leaves first.

    Each who enters switches again, for there may be more to switch by then; the last to leave undoes it all in turn.
    """
    lock, undoing, inside = Lock(), ExitStack(), 0

    @contextmanager
    @wraps(switch)
    def held() -> Iterator[None]:
        nonlocal inside
        with lock:
            undoing.enter_context(switch())
            inside += 1
        try:
            yield
        finally:
            with lock:
                inside -= 1
                if not inside:
                    undoing.close()

    return held
