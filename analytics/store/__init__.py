"""The DuckDB store: records with their history, and the questions asked of them in named SQL."""

from analytics.store.asking import Ask
from analytics.store.database import Store
from analytics.store.kept import Kept

__all__ = ["Ask", "Kept", "Store"]
