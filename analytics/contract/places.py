"""Where things are: the files shipped beside the code, in a checkout or an installed wheel; the store by default."""

from pathlib import Path

DEFAULT_STORE, STORE_VARIABLE = "leakback.duckdb", "LEAKBACK_STORE"
"""The store where none is named, and the variable of the environment that names one."""
_PACKAGE = Path(__file__).resolve().parent.parent


def shipped(name: str) -> Path:
    """The path of a shipped file or folder: ``data``, ``shared/rules.toml``, ``app.py`` or ``.streamlit``.

    A wheel carries them inside the package, a checkout beside it.
    """
    inside = _PACKAGE / name
    return inside if inside.exists() else _PACKAGE.parent / name
