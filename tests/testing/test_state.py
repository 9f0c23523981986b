"""Every part of the global state: a change is seen and can be taken back."""

from __future__ import annotations

import csv
import decimal
import gc
import locale
import logging
import os
import random
import socket
import sys
import warnings
from pathlib import Path

import matplotlib
import numpy as np
import pytest

from lanewise.testing import state

CHANGES = {
    "locale": lambda: locale.setlocale(locale.LC_ALL, "C" if locale.setlocale(locale.LC_ALL) != "C" else "C.UTF-8"),
    "working folder": lambda: os.chdir(Path(__file__).parent),
    "environment": lambda: os.environ.update(ZOO="1"),
    "mask of new files": lambda: os.umask(0o027 if os.umask(0o022) != 0o027 else 0o077),
    "state of random": random.random,
    "decimal context": lambda: setattr(decimal.getcontext(), "prec", 5),
    "limit of csv fields": lambda: csv.field_size_limit(10),
    "limit of digits in int()": lambda: sys.set_int_max_str_digits(5000),
    "recursion limit": lambda: sys.setrecursionlimit(1234),
    "garbage collection": gc.disable,
    "default time-out of sockets": lambda: socket.setdefaulttimeout(3),
    "standard output": lambda: setattr(sys, "stdout", sys.__stderr__),
    "standard error": lambda: setattr(sys, "stderr", sys.__stdout__),
    "hook of uncaught errors": lambda: setattr(sys, "excepthook", print),
    "level of the root logger": lambda: logging.root.setLevel(7),
    "logging switched off": lambda: logging.disable(50),
    "warning filters": lambda: warnings.simplefilter("ignore"),
    "display of warnings": lambda: setattr(warnings, "showwarning", print),
    "state of numpy.random": lambda: np.random.random(),
    "numpy print options": lambda: np.set_printoptions(precision=2),
    "numpy error state": lambda: np.seterr(all="ignore"),
    "matplotlib settings": lambda: matplotlib.rcParams.update({"font.size": 3}),
}


@pytest.mark.parametrize(("name", "change"), CHANGES.items(), ids=CHANGES)
def test_change_is_seen_and_taken_back(name, change):
    held = state.snapshot()
    try:
        change()
        found = state.changes(held)
    finally:
        state.restore(held)
    assert [said for said in found if said.startswith(name)], found
    assert state.changes(held) == []


def test_pictures_that_a_library_would_accept():
    image = pytest.importorskip("PIL.Image")
    pytest.importorskip("PIL.ImageFile")
    held = state.snapshot()
    image.MAX_IMAGE_PIXELS = None
    assert state.changes(held) == ["pixel limit of pictures (89478485 to None)"]  # its default, as installed
    state.restore(held)
    assert state.changes(held) == []


def test_a_library_that_is_not_loaded_is_not_loaded_for_this(monkeypatch):
    monkeypatch.delitem(sys.modules, "matplotlib.rcsetup")
    assert "matplotlib settings" not in state.snapshot()


def test_what_importing_may_change_can_be_left_out():
    assert {"environment", "warning filters"} & state.snapshot(at_import=False).keys() == set()


def test_settings_that_differ_from_those_at_loading():
    held = state.snapshot()
    matplotlib.rcParams["font.size"] = 3
    found = state.changed_settings()
    state.restore(held)
    assert len(found) == 1
    assert "font.size: " in found[0]
