"""What a metre of crack costs and which repairs leak back: each figure with its interval and count."""

from analytics.metrics.measuring import TOO_FEW_JOBS, Measured, curves, measure, ratios
from analytics.metrics.registry import METRICS, Metric, metric

__all__ = ["METRICS", "TOO_FEW_JOBS", "Measured", "Metric", "curves", "measure", "metric", "ratios"]
