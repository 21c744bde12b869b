"""Where the files shipped beside the code are found, in a checkout and in an installed wheel."""

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def shipped(name: str) -> Path:
    """The path of a shipped file or folder: ``data``, ``shared/rules.toml``, ``app.py`` or ``.streamlit``.

    A wheel carries them inside the package, a checkout beside it.
    """
    inside = _PACKAGE / name
    return inside if inside.exists() else _PACKAGE.parent / name
