"""Answers that rest on the records alone, worked out once for a door that keeps them."""

from collections.abc import Callable
from functools import partial, wraps
from typing import Concatenate, ParamSpec, TypeVar

from analytics.answers.records import Records
from analytics.answers.standing import allowed

Given = ParamSpec("Given")
Answer = TypeVar("Answer")


def remembered(
    work_out: Callable[Concatenate[Records, Given], Answer],
) -> Callable[Concatenate[Records, Given], Answer]:
    """Marks a function whose answer hangs on the records, what is asked and whether a model may be kept, on no more."""

    @wraps(work_out)
    def answered(records: Records, /, *args: Given.args, **kwargs: Given.kwargs) -> Answer:
        if (kept := records.ask.kept) is None:
            with records.store.reading():  # all that it asks over one connection
                return work_out(records, *args, **kwargs)
        key = (work_out.__module__, work_out.__name__, allowed("fit"), args, tuple(sorted(kwargs.items())))
        return kept.answer(key, partial(work_out, records, *args, **kwargs))

    return answered
