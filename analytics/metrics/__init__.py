"""What a metre of crack costs and which repairs leak back: each figure with its interval and count."""

from analytics.metrics.measuring import Measured, curves, measure
from analytics.metrics.registry import METRICS, Metric, metric

__all__ = ["METRICS", "Measured", "Metric", "curves", "measure", "metric"]
