"""Take-off: quantities of a repair from the crack's geometry."""
