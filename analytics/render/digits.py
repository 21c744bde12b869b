"""Asks a phone for digits where a number is typed as text."""

IN_DIGITS = "-in-digits"
"""Ends the key of a text that is a number in the unit named: a phone shows digits for it."""
DIGITS = f"""
if (!window.leakbackDigits) {{
  const boxes = () => document.querySelectorAll('[class*="{IN_DIGITS}"] input');
  const ask = () => boxes().forEach((box) => {{ box.inputMode = "decimal"; }});
  window.leakbackDigits = new MutationObserver(ask);
  window.leakbackDigits.observe(document.body, {{ childList: true, subtree: true }});
  ask();
}}
"""
"""Asks for a phone's digits in such fields, as they come: the screen's own fields cannot be told to."""
