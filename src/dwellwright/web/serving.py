"""Serving the application on this machine."""

from __future__ import annotations

import os
from pathlib import Path

import uvicorn

from dwellwright.web.app import build_app

EVERYWHERE = "0.0.0.0"  # noqa: S104
"""Listens to every machine of the network; only on request."""


def run(folder: Path | None, database: str | None, who: str | None, *, port: int, lan: bool = False) -> None:
    """Serve until stopped. Nothing is sent anywhere: tracing is off before the first request.

    Args:
        folder: shop folder.
        database: address of a PostgreSQL database, if not SQLite.
        who: named in the audit trail.
        port: to listen on.
        lan: listen to other machines, too.

    Raises:
        InputFault: the shop cannot be opened.
    """
    os.environ.setdefault("OTEL_SDK_DISABLED", "true")
    app = build_app(folder, database, who)
    host = EVERYWHERE if lan else "127.0.0.1"
    uvicorn.run(app, host=host, port=port, log_level="warning", server_header=False)
