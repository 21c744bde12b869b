"""What is thought of a column of a business's sheet, read as one of ours."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Clue:
    """How a column would be read as one of ours: the share of its values that can be, how, and why it is thought so.

    ``orders``: those that its days could be in, where there are several. ``choices``: units in which its values are as
    usual, with how far they lie from the middle of it. ``system``: inches or metres, where it is sure that it measures
    lengths so.
    """

    share: float
    reason: str
    unit: str = ""
    date_format: str = ""
    words: dict[str, str] = field(default_factory=dict)
    sure: float = 1.0
    orders: tuple[str, ...] = ()
    choices: Mapping[str, float] = field(default_factory=dict)
    system: str = ""
