"""The steps of the work, in the trade's order, with the published source where there is one."""

from typing import Any

from analytics.pages.practice import steps

CRACK: dict[str, Any] = {
    "crack_id": "K-1", "direction": "vertical", "length_m": 2.4, "port_spacing_mm": 200.0, "resin": "epoxy",
}  # fmt: skip
LEVEL = CRACK | {"crack_id": "K-2", "direction": "horizontal"}


def texts(*cracks: dict[str, Any]) -> list[str]:
    return [row.text for row in steps(cracks).rows]


def place(said: list[str], words: str) -> int:
    [found] = [index for index, text in enumerate(said) if words in text]
    return found


def test_the_order_is_clean_dry_ports_seal_water_inject_cure() -> None:
    # common practice, no source; lowest port first and upward: TxDOT Concrete Repair Manual, chapter 3 section 5
    said = texts(CRACK)
    order = ["cleaned", "dry", "Set the ports", "surface seal", "Water squirted", "lowest port and go upward", "cures"]
    places = [place(said, words) for words in order]
    assert places == sorted(places)
    assert "Measure the width" in said[0]


def test_ports_are_counted_and_spaced_as_the_take_off_says() -> None:
    # 2.4 m at 200 mm: 12 gaps, 13 ports
    assert "K-1: 13 ports, 200\u202fmm apart." in " ".join(texts(CRACK))
    # the seal: 101.6 mm × 3.175 mm × 2.4 m = 0.774 L
    assert "About 0.77\u202fL of seal" in " ".join(texts(CRACK))


def test_each_resin_has_its_own_cure_time() -> None:
    # common practice, no source: about 2 hours for foam, 24 for epoxy
    assert sum("cures" in text for text in texts(CRACK)) == 1
    both = " ".join(texts(CRACK, CRACK | {"resin": "urethane_foam"}))
    assert "Epoxy cures in about 24 hours." in both
    assert "Urethane foam cures in about 2 hours." in both
    assert sum("cures" in text for text in texts(CRACK | {"resin": None})) == 2


def test_only_published_sources_are_named_and_the_rest_is_said_once() -> None:
    found = steps([CRACK])
    assert [row.source for row in found.rows if row.source] == [
        "TxDOT Concrete Repair Manual, chapter 3 section 5; common practice"
    ]
    assert "no published source" in found.note


def test_what_is_not_measured_is_not_made_up() -> None:
    said = " ".join(texts(CRACK | {"length_m": None, "port_spacing_mm": None, "resin": None}))
    assert "of seal in all" not in said
    assert "usually 150 to 250 mm" in said


def test_a_horizontal_crack_is_injected_from_one_end_to_the_other() -> None:
    # common practice, no source; the published order is for a vertical surface
    said = texts(LEVEL)
    assert not any("lowest" in text or "upward" in text or "top port" in text for text in said)
    assert "Start at one end and go on to the other" in said[place(said, "Start at")]
    assert [row.source for row in steps([LEVEL]).rows if row.source] == []
    assert "Set the ports, one at each end. K-2: 13 ports" in said[place(said, "Set the ports")]


def test_where_cracks_differ_each_order_names_its_cracks() -> None:
    said = texts(CRACK, LEVEL)
    assert said[place(said, "lowest port and go upward")].startswith("K-1: Start")
    assert said[place(said, "Start at one end")].startswith("K-2: Start")
    assert said[place(said, "top port")].startswith("K-1: Water")
    assert said[place(said, "port at one end")].startswith("K-2: Water")
    assert "one at each end, the first lowest at K-1." in said[place(said, "Set the ports")]
    assert texts(CRACK)[place(texts(CRACK), "go upward")].startswith("Start at the lowest")
