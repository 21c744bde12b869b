"""Linear algebra is held to one thread while anybody holds it, whoever leaves first."""

import numpy as np
from threadpoolctl import threadpool_info, threadpool_limits  # type: ignore[import-untyped]

from analytics.stats.threads import one_thread


def threads() -> set[int]:
    return {pool["num_threads"] for pool in threadpool_info() if pool["user_api"] == "blas"}


def test_the_last_to_leave_gives_the_threads_back() -> None:
    assert np.linalg.det(np.eye(2)) == 1  # loads the library
    with threadpool_limits(2, user_api="blas"):
        first, second = one_thread(), one_thread()
        first.__enter__()
        second.__enter__()
        first.__exit__(None, None, None)
        assert threads() == {1}
        second.__exit__(None, None, None)
        assert threads() == {2}
