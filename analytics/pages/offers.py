"""What a page offers to do: its forms and uploads, wherever on it they stand."""

from collections.abc import Iterator, Sequence

from analytics.pages.form import Form
from analytics.pages.page import Part
from analytics.pages.upload import Upload
from analytics.pages.within import every_part


def offers(parts: Sequence[Part]) -> Iterator[Form | Upload]:
    """Every form and upload among ``parts``, in order."""
    return (part for part in every_part(parts) if isinstance(part, Form | Upload))
