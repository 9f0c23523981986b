"""Readers and renderers that do more than read and render."""

from __future__ import annotations

import csv
import decimal
import os
import random
import socket
import subprocess
import tempfile
import threading
import time
import warnings
from contextlib import suppress

from lanewise.hooks import hookimpl
from zoo import Caught
from zoo.page import Page, page
from zoo.sheet import read, sheet

HELD = []
EFFECTS = {}


def effect(check, says):
    """Note a side effect, with the check that has to see it."""

    def note(function):
        EFFECTS[function.__name__] = (function, Caught(check, says))
        return function

    return note


@effect("network", "what a plugin needs from the network belongs in its package")
def resolving():
    with suppress(OSError):
        socket.getaddrinfo("localhost", 9)


@effect("writes", "Keep everything in memory")
def storing():
    with suppress(OSError), tempfile.TemporaryFile() as file:
        file.write(b"readings")


@effect("processes", "Use a library in the same process")
def calling():
    with suppress(OSError):
        subprocess.run(["true"], check=False)


@effect("global_state", "state of random (changed)")
def seeding():
    random.seed(1)


@effect("global_state", "decimal context")
def precise():
    decimal.getcontext().prec = 7


@effect("global_state", "limit of csv fields")
def generous():
    csv.field_size_limit(10**8)


@effect("global_state", "environment (ZOO: None to 'yes')")
def marking():
    os.environ["ZOO"] = "yes"


@effect("global_state", "warning filters")
def hushing():
    warnings.simplefilter("ignore")


@effect("global_state", "numpy error state")
def careless():
    import numpy

    numpy.seterr(all="ignore")


@effect("global_state", "working folder")
def moving():
    os.chdir(os.path.dirname(__file__))


@effect("leftovers", "Close files and end threads before returning")
def opening():
    HELD.append(os.open(__file__, os.O_RDONLY))
    if len(HELD) > 2:
        os.close(HELD.pop(0))


@effect("leftovers", "wanted: no thread left")
def working():
    threading.Thread(target=time.sleep, args=(1.5,), daemon=True).start()


PAGES = ("resolving", "storing", "calling", "seeding", "marking", "opening")  # at least one a check
CAUGHT = {f"{name}-sheet": caught for name, (_, caught) in EFFECTS.items()}
CAUGHT |= {f"{name}-page": EFFECTS[name][1] for name in PAGES}


def reader_with(function):
    def read_and_more(source, options):
        function()
        return read(source, options)

    return read_and_more


def layout_with(function):
    class Meddling(Page):
        def render(self, report, options):
            function()
            return super().render(report, options)

    return Meddling()


@hookimpl
def lanewise_import_formats():
    return [sheet(f"{name}-sheet", reader_with(function)) for name, (function, _) in EFFECTS.items()]


@hookimpl
def lanewise_report_styles():
    return [page(f"{name}-page", layout_with(EFFECTS[name][0])) for name in PAGES]
