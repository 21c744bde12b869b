"""Strange things that people and programs type."""

from hypothesis import strategies as st

NASTY = (
    "",
    " ",
    "-",
    "--",
    "'",
    '"',
    "'; DROP TABLE jobs; --",
    "1 OR 1=1",
    "<script>alert(1)</script>",
    "=1+1",
    "../outside",
    "nan",
    "inf",
    "-0",
    "1e400",
    "-1e-400",
    "99999999999999999999999999",
    "0x10",
    "1,5",
    "½",
    "٣",
    "\u202e",
    "e\u0301",
    "🧱",
    "2026-02-30",
    "0001-01-01",
    "9999-12-31",
    "31/12/2026",
    "null",
    "None",
    "true",
    "a" * 5000,
    "%s%n",
    "{key}",
    "\\",
)
USUAL = ("0", "1", "-1", "2.4", "24", "60", "0.9", "200", "epoxy", "urethane_foam", "dry", "running", "C01", "J-1")
USUAL_DAYS = ("2024-02-29", "2026-10-31", "2026-10", "resin,season", "crew", "resin=epoxy", "water", "done", "Q-1")

words = st.one_of(
    st.sampled_from(NASTY + USUAL + USUAL_DAYS),
    st.text(st.characters(codec="utf-8", exclude_characters="\0/"), max_size=12),
    st.floats().map(str),
    st.integers().map(str),
)
