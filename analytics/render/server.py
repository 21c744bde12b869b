"""Serves the dashboard: Streamlit on ``app.py``, its first page worked out before the reader's browser opens.

While a page is looked at, those with one choice changed are worked out too (``render/foresight.py``).

``python -m analytics.render.server run app.py ...``, in place of ``python -m streamlit``.
"""

import threading

from streamlit.web.cli import main

MOST_WAIT_SECONDS = 5.0
"""A page that takes longer, with very many records, is waited for in the browser instead."""


def _work_ahead() -> None:
    from altair.utils import schemapi  # noqa: PLC0415, slow to import, and here beside the server's own start

    from analytics.render import dashboard, screen  # noqa: PLC0415, the same

    schemapi.disable_debug_mode()  # charts are held against their schema in the tests, not before each reader
    screen.FORESIGHT.start()
    dashboard.work_ahead()


if __name__ == "__main__":
    first_page = threading.Thread(target=_work_ahead, name="first page", daemon=True)
    first_page.start()
    first_page.join(MOST_WAIT_SECONDS)
    main(prog_name="streamlit")
