"""Who may do what. The navigation, every form and every write go by this one declaration.

A business has four kinds of people: its owner, who answers for the money; the lead, who runs the crews; the estimator,
who measures and quotes; and the viewer, who looks on from outside and never learns who worked where.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

Role = Literal["owner", "lead", "estimator", "viewer"]
Act = Literal["plan", "close", "call", "review", "load", "undo", "fit", "scenario", "rate", "policy"]
Sight = Literal["judged", "named", "unnamed"]
"""Of crews: with their figures side by side; by name on jobs and quotes alone; not at all."""

ROLES: tuple[Role, ...] = get_args(Role)
ACTS: Mapping[Act, str] = {
    "plan": "plan or change a job",
    "close": "close a job",
    "call": "record a customer's call",
    "review": "record an engineer's answer",
    "load": "load files",
    "undo": "take a load back",
    "fit": "fit the risk model",
    "scenario": "save or remove a scenario",
    "rate": "change a rate",
    "policy": "change the policy",
}
"""Everything that changes the store, in words that follow "may not"."""

CREWS_PAGE, RECORD_PAGE, PRICES_PAGE, LOAD_PAGE = "crews", "record", "prices", "load"
"""Pages by path, which the layers above name too: of judged crews, of a job's rows, of costs, and of files brought."""


@dataclass(frozen=True)
class Rights:
    """What a role may do and see: its acts, the pages closed to it by their path in the address, and its crews."""

    does: str
    acts: frozenset[Act]
    closed: frozenset[str] = frozenset()
    crews: Sight = "judged"

    def opens(self, path: str) -> bool:
        """Whether the page at ``path``, with choices behind a question mark or without, is open to the role."""
        return path.partition("?")[0] not in self.closed

    def allows(self, needs: Act | None) -> bool:
        """Whether the role has the right that something needs; what declares none is for who may do everything."""
        return self.acts >= ({needs} if needs else set(ACTS))


RIGHTS: Mapping[Role, Rights] = {
    "owner": Rights("sees and does everything", frozenset(ACTS)),
    "lead": Rights(
        "plans and closes jobs, records calls and engineers' answers, loads files, judges crews; no quotes, no prices, "
        "no reserve",
        frozenset({"plan", "close", "call", "review", "load", "undo", "fit"}),
        frozenset({"quote", PRICES_PAGE, "reserve"}),
    ),
    "estimator": Rights(
        "quotes, plans jobs and records calls; no loading, no reserve, no crew judged",
        frozenset({"plan", "call"}),
        frozenset({CREWS_PAGE, "reserve", LOAD_PAGE}),
        "named",
    ),
    "viewer": Rights(
        "reads, changes nothing, and is never told which crew did what; no crews, no records by row",
        frozenset(),
        frozenset({CREWS_PAGE, RECORD_PAGE, LOAD_PAGE, "records"}),
        "unnamed",
    ),
}
NO_RIGHTS = Rights("nothing", frozenset(), crews="unnamed")
"""Of somebody without a role, to whom no page is shown at all."""


def may(act: Act | None) -> list[Role]:
    """The roles that may do ``act``; of what declares none, those that may do everything."""
    return [role for role in ROLES if RIGHTS[role].allows(act)]
