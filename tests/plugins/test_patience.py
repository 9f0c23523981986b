"""Waiting for plugins, but not for ever."""

from __future__ import annotations

import threading
import time

import pytest

from lanewise.plugins.patience import OutOfPatience, in_plugin, patience, within


def test_what_comes_back_comes_back():
    assert within(5, lambda: "ink") == "ink"
    with pytest.raises(KeyError, match="dye"):
        within(5, lambda: {}["dye"])


def test_an_endless_loop_is_given_up_and_ended():
    running = []

    def loop():
        running.append(threading.current_thread())
        while True:
            pass

    with pytest.raises(OutOfPatience, match=r"did not come back within 0\.05 s"):
        within(0.05, loop)
    running[0].join(5)
    assert not running[0].is_alive()


def test_code_that_waits_is_left_alone():
    done = threading.Event()
    begin = time.monotonic()
    with pytest.raises(OutOfPatience, match="did not come back"):
        within(0.05, lambda: done.wait(20))
    assert time.monotonic() - begin < 5
    done.set()


def test_no_limit_needs_no_thread():
    assert within(0, threading.current_thread) is threading.current_thread()
    assert within(0, in_plugin) is False
    assert within(5, in_plugin) is True


@pytest.mark.parametrize(
    ("text", "seconds"), [pytest.param("2.5", 2.5, id="number"), pytest.param("-1", 0.0, id="negative"),
                          pytest.param("soon", 30.0, id="no number"), pytest.param(None, 30.0, id="nothing")]
)  # fmt: skip
def test_the_environment_sets_it(monkeypatch, text, seconds):
    if text is None:
        monkeypatch.delenv("LANEWISE_PLUGIN_SECONDS", raising=False)
    else:
        monkeypatch.setenv("LANEWISE_PLUGIN_SECONDS", text)
    assert patience() == seconds
