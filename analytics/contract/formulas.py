"""Text that a spreadsheet would run, marked as text."""

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")
"""What makes a spreadsheet run a cell's text (OWASP, CSV injection)."""
NEUTRAL = "'"


def neutral(text: str) -> str:
    """The text, marked as text where a spreadsheet would run it."""
    return NEUTRAL + text if text.lstrip(" ").startswith(FORMULA_STARTS) else text
