"""The work on a crack, step by step, as the trade does it: upward, or along a level crack; every step with who says so.

Of a crack that is not to be injected, what to do instead.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from analytics.contract import words
from analytics.contract.references import Reference, reference
from analytics.contract.rules import DO_NOT_INJECT
from analytics.decisions.triage import Flag
from analytics.pages.sheet import Step, Steps
from analytics.takeoff.ports import MM_PER_M, port_count
from analytics.takeoff.volumes import ML_PER_LITRE, seal_millilitres

Facts = Mapping[str, Any]
UNSOURCED = "Where no source is named: common practice of the trade, no published source."
_COMMON = "common practice"
LOOK_AGAIN = (
    "Measure the width and the offset again. Wider, further out of plane or growing since it was planned: stop and "
    "ask before going on."
)
RESIN = "Read the resin's safety sheet and data sheet; mix it as the data sheet says for the wall's temperature."
WRITE = "Write down below what was used and done, crack by crack, before leaving."
MEASURE = (
    "Measure the width at its widest, the offset and whatever has a box below, and write it down. Wider, further out "
    "of plane or growing since it was planned: say so the same day."
)
NOTHING = "Set no ports, lay no seal and open no resin on it."
INSTEAD = {
    "engineer_review": "an engineer looks first, with the engineer's referral in hand; wait for the recorded decision",
    "declined": "do what the engineer decided; injecting needs a new decision",
    DO_NOT_INJECT: "do what is said of it above",
    "measure_first": "hand in what was measured; it is looked at again before anything is injected",
}


def steps(cracks: Sequence[Facts], *, only: bool = False) -> Steps:
    """The steps for these cracks of one job, in order; ``only``: others of the job are not to be injected."""
    return Steps(
        f"Steps for {_names(cracks)} only, in this order" if only else "Steps, in this order",
        (
            Step(LOOK_AGAIN),
            _said(reference("cleaned_strip_each_side")),
            _said(reference("dry_surface")),
            Step(f"{_first_port(cracks)} {_ports(cracks)}"),
            Step(f"{_joined('seal_strip_each_side', 'seal_thickness')} {_seal(cracks)}".strip()),
            *(_said(reference(key), names) for key, names in _either_way(cracks, "water_test")),
            Step(RESIN),
            *(_said(reference(key), names) for key, names in _either_way(cracks, "injection_order")),
            _said(reference("fill_to_next_port")),
            *_cures(cracks),
            _said(reference("outside_seal")),
            Step(WRITE),
        ),
        UNSOURCED,
    )


def instead(flags: Iterable[Flag]) -> Steps:
    """What to do at cracks that are not to be injected, or not before somebody has looked."""
    named: dict[str, list[str]] = {}
    for flag in flags:
        named.setdefault("declined" if flag.declined else flag.needs, []).append(flag.crack_id)
    every = words.listed([name for names in named.values() for name in names])
    rows = [f"{words.listed(named[needs])}: {what}." for needs, what in INSTEAD.items() if needs in named]
    return Steps(f"What to do at {every}: nothing is injected", tuple(map(Step, (MEASURE, *rows, NOTHING))), UNSOURCED)


def _said(line: Reference, names: str = "") -> Step:
    """The line as a step, for the cracks of these ``names`` where it is not for all."""
    return Step(f"{names}: {line.says}" if names else line.says, _source(line))


def _along(crack: Facts) -> bool:
    """Whether its ports lie level, so that none is lowest."""
    return bool(crack["direction"] == "horizontal")


def _either_way(cracks: Sequence[Facts], key: str) -> list[tuple[str, str]]:
    """The step upward, the one along a horizontal crack, or both; where both, with the cracks each is for."""
    upward, level = ([each for each in cracks if _along(each) is along] for along in (False, True))
    both = bool(upward and level)
    return [(name, _names(some) if both else "") for name, some in ((key, upward), (f"{key}_along", level)) if some]


def _names(cracks: Sequence[Facts]) -> str:
    return words.listed([str(crack["crack_id"]) for crack in cracks])


def _first_port(cracks: Sequence[Facts]) -> str:
    upward = [each for each in cracks if not _along(each)]
    if not upward:
        return "Set the ports, one at each end."
    lowest = "the first lowest" if len(upward) == len(cracks) else f"the first lowest at {_names(upward)}"
    return f"Set the ports, one at each end, {lowest}."


def _source(line: Reference) -> str:
    """Where the step is written; nothing where it is common practice alone, which is said once for all."""
    return "" if line.source.startswith(_COMMON) else line.source


def _joined(*keys: str) -> str:
    return " ".join(reference(key).says for key in keys)


def _cures(cracks: Sequence[Facts]) -> tuple[Step, ...]:
    """How long each resin planned cures; both where the resin is not settled."""
    planned = sorted({str(crack["resin"]) for crack in cracks if crack["resin"]}) or ["epoxy", "urethane_foam"]
    return tuple(
        Step(f"{reference(f'cure_{resin}').says} Leave it alone that long.", _source(reference(f"cure_{resin}")))
        for resin in planned
    )


def _ports(cracks: Sequence[Facts]) -> str:
    planned = [
        f"{crack['crack_id']}: {_counted(crack['length_m'], crack['port_spacing_mm'])}."
        for crack in cracks
        if crack["length_m"] and crack["port_spacing_mm"]
    ]
    return " ".join(planned) if planned else reference("usual_port_spacing").says


def apart(length_m: float, spacing_mm: float) -> str:
    """``169 mm apart``: how ports lie that are spread evenly, never further apart than the spacing."""
    return f"{words.size(length_m * MM_PER_M / (port_count(length_m, spacing_mm) - 1), 'mm')} apart"


def _counted(length_m: float, spacing_mm: float) -> str:
    return f"{words.counted(port_count(length_m, spacing_mm), 'port')}, {apart(length_m, spacing_mm)}"


def _seal(cracks: Sequence[Facts]) -> str:
    lengths = [crack["length_m"] for crack in cracks if crack["length_m"]]
    if not lengths:
        return ""
    return f"About {words.number(seal_millilitres(sum(lengths)) / ML_PER_LITRE, 2, 'L')} of seal in all."
