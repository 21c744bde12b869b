"""The door: files as a business has them, split into clean rows and rejected ones with reasons."""

from analytics.intake.door import check, read_sources
from analytics.intake.known import Known
from analytics.intake.maps.applying import apply
from analytics.intake.maps.column_map import ColumnMap, parse_map, read_map
from analytics.intake.mending import WORK_LIST, Mended, mend, work_list
from analytics.intake.privacy import Keyring, private_path
from analytics.intake.reading import read_source
from analytics.intake.settled import without_mended
from analytics.intake.sheet import Sheet
from analytics.intake.sources import READERS, Source, named_sources, open_sources

__all__ = [
    "READERS",
    "WORK_LIST",
    "ColumnMap",
    "Keyring",
    "Known",
    "Mended",
    "Sheet",
    "Source",
    "apply",
    "check",
    "mend",
    "named_sources",
    "open_sources",
    "parse_map",
    "private_path",
    "read_map",
    "read_source",
    "read_sources",
    "without_mended",
    "work_list",
]
