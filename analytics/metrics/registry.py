"""Every metric, as a record that names columns of the follow-up facts; its denominator is said out loud."""

from dataclasses import dataclass

from analytics.errors import UnknownNameError


@dataclass(frozen=True)
class Metric:
    """A figure of done work: its name, unit, words, and what is divided by what.

    A ``leak_back_rate`` has no columns: it is read off the product-limit curve.
    """

    name: str
    unit: str
    words: str
    says: str
    numerator: str = ""
    denominator: str = ""

    @property
    def is_rate(self) -> bool:
        """Whether follow-up decides it, so that it is asked for at an age."""
        return not self.numerator


METRICS = {
    metric.name: metric
    for metric in (
        Metric(
            "leak_back_rate",
            "share",
            "leak-back rate",
            "share of repaired cracks that leaked back under warranty by the age asked for, among those watched",
        ),
        Metric(
            "material_per_metre",
            "L/m",
            "resin per metre",
            "litres of resin used, divided by metres of crack, of the cracks where both were recorded",
            "resin_litres",
            "length_m",
        ),
        Metric(
            "take_ratio",
            "ratio",
            "take ratio",
            "litres of resin used, divided by the litres that width x wall thickness x length would hold; above what "
            "the crack explains, resin went behind the wall",
            "resin_litres",
            "void_litres",
        ),
        Metric(
            "labour_per_crack",
            "min",
            "labour per crack",
            "person-minutes, divided by the cracks where they were recorded",
            "labour_minutes",
            "crack",
        ),
        Metric(
            "labour_per_metre",
            "min/m",
            "labour per metre",
            "person-minutes, divided by metres of crack, of the cracks where both were recorded",
            "labour_minutes",
            "length_m",
        ),
    )
}


def metric(name: str) -> Metric:
    """The metric called ``name``; UnknownNameError otherwise."""
    if name not in METRICS:
        kind = "metric"
        raise UnknownNameError(kind, name, METRICS)
    return METRICS[name]
