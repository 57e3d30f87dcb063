"""Serving until stopped, on a port that may be any free one."""

from __future__ import annotations

import socket
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING

import uvicorn
from fastapi import FastAPI

from rules.release import Release
from service.app import create_app
from service.garbage import settle
from service.serving import Serving
from service.settings import Settings
from service.storefront.protocol import Protocol
from service.terminal.mistakes import WrongCommand
from service.terminal.output import hint

KEPT_OPEN_S = 75
"""How long a connection may say nothing between two requests: longer than proxies keep theirs, so that they close it first [s]."""

TURN_S = 0.0002
"""How long a thread keeps the interpreter that another waits for [s]: an answer waits for it after each read and write of a socket,
while another thread judges an unknown pair, or makes a release ready. Shorter makes no answer quicker: then it waits for the
processor instead."""

GRACE_S = 20
"""How long requests that are being answered may go on when the server is told to stop [s]."""

if TYPE_CHECKING:
    # Where there is no database, nothing of it is imported.
    from service.releasing.office import Office


def serve_release(
    release: Release, settings: Settings, serving: Serving, office: Office | None = None
) -> None:
    """Serve a release whose engine is compiled already, and say where.

    Args:
        office: The side of the database that is followed; without one this release is served until stopped.
    """
    app = create_app(release, settings, serve=lambda _: serving, office=office)
    listening, where = listen(settings)
    hint(f"Loomway answers at {where} (Ctrl-C stops it)")
    server = uvicorn.Server(configure(app))
    settle()
    try:
        server.run(sockets=[listening])
    except KeyboardInterrupt:
        # uvicorn raises the signal again once it has stopped; stopping was what was asked for.
        hint("stopped")


def configure(app: FastAPI | Callable[[], FastAPI]) -> uvicorn.Config:
    """Set the server up, for an application or what makes it, and the interpreter for answers that come beside work."""
    sys.setswitchinterval(TURN_S)
    return uvicorn.Config(
        app,
        http=Protocol,
        ws="none",
        log_level="warning",
        access_log=False,
        server_header=False,
        timeout_keep_alive=KEPT_OPEN_S,
        timeout_graceful_shutdown=GRACE_S,
    )


def listen(settings: Settings) -> tuple[socket.socket, str]:
    """Take the port.

    Returns: The socket, and an address to look at.

    Raises:
        WrongCommand: Somebody else has it.
    """
    is_v6 = ":" in settings.host
    family = socket.AF_INET6 if is_v6 else socket.AF_INET
    try:
        listening = socket.create_server((settings.host, settings.port), family=family, backlog=2048)
    except OSError as error:
        raise WrongCommand(
            f"cannot listen on port {settings.port} of {settings.host}; LOOMWAY_PORT=0 takes a free one"
        ) from error
    host = f"[{settings.host}]" if is_v6 else settings.host
    return listening, f"http://{host}:{listening.getsockname()[1]}/v1/catalog"
