"""Pictures as pure functions of a frame and strings; no store, no aggregation."""
