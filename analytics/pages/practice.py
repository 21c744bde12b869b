"""The work on a crack, step by step, lowest port first, as the trade does it; every step with who says so."""

from collections.abc import Mapping, Sequence
from typing import Any

from analytics.contract import words
from analytics.contract.references import Reference, reference
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


def steps(cracks: Sequence[Facts]) -> Steps:
    """The steps for these cracks of one job, in order."""
    return Steps(
        "Steps, in this order",
        (
            Step(LOOK_AGAIN),
            _said(reference("cleaned_strip_each_side")),
            _said(reference("dry_surface")),
            Step(f"Set the ports, one at each end, the first lowest. {_ports(cracks)}"),
            Step(f"{_joined('seal_strip_each_side', 'seal_thickness')} {_seal(cracks)}".strip()),
            _said(reference("water_test")),
            Step(RESIN),
            Step(_joined("injection_order", "fill_to_next_port"), _source(reference("injection_order"))),
            *_cures(cracks),
            _said(reference("outside_seal")),
            Step(WRITE),
        ),
        UNSOURCED,
    )


def _said(line: Reference) -> Step:
    return Step(line.says, _source(line))


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
