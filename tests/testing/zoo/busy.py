"""A plugin whose hooks ask the network which formats there are today."""

from __future__ import annotations

import socket
from contextlib import suppress

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.page import page
from zoo.sheet import sheet

CAUGHT = {
    "busy-sheet": Caught("hook", "given:  socket.getaddrinfo 'localhost' in busy.py"),
    "busy-page": Caught("hook", "Let the hook return its records and do nothing else"),
}


def ask():
    with suppress(OSError):
        socket.getaddrinfo("localhost", 9)


@hookimpl
def lanewise_import_formats():
    ask()
    return [sheet("busy-sheet")]


@hookimpl
def lanewise_report_styles():
    return [page("busy-page")]
