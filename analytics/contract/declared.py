"""The base of what is read from a text: the rules, the policy, a column map, a scenario."""

from pydantic import BaseModel, ConfigDict


class Declared(BaseModel):
    """What is declared and nothing else, and the same from when it was read on."""

    model_config = ConfigDict(frozen=True, extra="forbid")
