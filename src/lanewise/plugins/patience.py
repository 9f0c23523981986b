"""How long a plugin may take over what should take no time: being loaded, and looking at the head of a file.

Python offers no way to end code that runs in the same process, so a plugin's code runs in a thread of its own while
it is loaded or asked about a file. When time is up and it is found at work, an exception is thrown into that thread,
which ends a loop; code that waits for something outside goes on waiting there, and the library goes on without it.
"""

from __future__ import annotations

import ctypes
import os
import threading
import time
from collections.abc import Callable
from typing import TypeVar

PATIENCE = "LANEWISE_PLUGIN_SECONDS"
USUAL = 30.0
LOOK = 0.05  # seconds for which a thread is looked at

_THREAD = "lanewise plugin"

Result = TypeVar("Result")


class OutOfPatience(Exception):
    """A plugin did not come back in time."""


class _Stop(BaseException):
    """Thrown into the thread of a plugin whose time is up."""


def patience() -> float:
    """Give the seconds that a plugin has; 0 for no limit, as one needs in a debugger.

    Examples
    --------
    >>> patience()
    30.0
    """
    try:
        return max(0.0, float(os.environ.get(PATIENCE, USUAL)))
    except ValueError:
        return USUAL


def in_plugin() -> bool:
    """Whether the code that asks runs in the thread of a plugin that is waited for."""
    return threading.current_thread().name == _THREAD


def within(seconds: float, call: Callable[[], Result]) -> Result:
    """Call a function and give what it returns or raises, but do not wait for it longer than some seconds.

    Parameters
    ----------
    seconds : float
        How long to wait; 0 for as long as it takes, without a thread. [s]
    call : callable
        Takes nothing.

    Raises
    ------
    OutOfPatience
        If time is up.

    Examples
    --------
    >>> within(10, lambda: 42)
    42
    """
    if not seconds:
        return call()
    outcome: list[tuple[Result | None, BaseException | None]] = []

    def run() -> None:
        try:
            outcome.append((call(), None))
        except BaseException as fault:
            outcome.append((None, fault))

    thread = threading.Thread(target=run, name=_THREAD, daemon=True)
    thread.start()
    thread.join(seconds)
    if not outcome:
        _stop(thread)
        raise OutOfPatience(f"did not come back within {seconds:g} s")
    result, fault = outcome[0]
    if fault is not None:
        raise fault
    return result  # type: ignore[return-value]  # None stands there only beside a fault


def _stop(thread: threading.Thread) -> None:
    """Ask a thread that is at work to end; it does so at its next step of Python code.

    A thread that waits is not asked: until it wakes up, the pending exception would slow the whole process down.
    """
    number = thread.ident or 0
    if _is_at_work(thread, number):
        ctypes.pythonapi.PyThreadState_SetAsyncExc(ctypes.c_ulong(number), ctypes.py_object(_Stop))


def _is_at_work(thread: threading.Thread, number: int) -> bool:
    """Whether a thread uses processor time; False where the system does not tell (it does on Linux)."""
    if not hasattr(time, "pthread_getcpuclockid") or not thread.is_alive():  # there is no clock of an ended thread
        return False
    clock = time.pthread_getcpuclockid(number)
    before = time.clock_gettime(clock)
    thread.join(LOOK)
    return thread.is_alive() and time.clock_gettime(clock) - before > LOOK / 20.0
