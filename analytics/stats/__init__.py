"""Statistics that know nothing of cracks: intervals, survival, multiple comparisons."""
