"""Serves the dashboard: Streamlit on ``app.py``, its first page worked out while the reader's browser opens.

``python -m analytics.render.server run app.py ...``, in place of ``python -m streamlit``.
"""

import threading

from streamlit.web.cli import main


def _work_ahead() -> None:
    from analytics.render import dashboard  # noqa: PLC0415, slow to import, and here beside the server's own start

    dashboard.work_ahead()


if __name__ == "__main__":
    threading.Thread(target=_work_ahead, name="first page", daemon=True).start()
    main(prog_name="streamlit")
