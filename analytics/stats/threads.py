"""Linear algebra on one thread: on tables this narrow several wait for each other, many times as long."""

from contextlib import AbstractContextManager

from threadpoolctl import ThreadpoolController  # type: ignore[import-untyped]

from analytics.holding import until_all_left


@until_all_left
def one_thread() -> AbstractContextManager[object]:
    """Hold the libraries that are loaded by now to one thread; also a decorator.

    Several may hold them at a time, each in a thread of its own: the last to leave gives the threads back.
    """
    held: AbstractContextManager[object] = ThreadpoolController().limit(limits=1)
    return held
