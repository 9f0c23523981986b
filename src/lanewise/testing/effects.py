"""Checks of what a plugin does beside its work: network, files, other programs, global state, things left open."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from lanewise.testing import state
from lanewise.testing.contracts import WORKS, Contract, Unmet, check, skip
from lanewise.testing.guards import Event, Kind, watched

AFTER = ("descriptor", WORKS)
_GRACE = 1.0  # how long a thread may take to end after the work is done [s]


class Effects(Contract):
    """What neither a reader nor a renderer may do: a user's program has to be the same after it as before."""

    def _exercise(self) -> None:
        """Do the plugin's whole work once; faults of the plugin are for other checks."""
        raise NotImplementedError

    def _seen(self, folder: Path) -> tuple[list[Event], list[str]]:
        """Watch the work once in an empty folder; give what was seen and what lies in the folder afterwards."""

        def work() -> tuple[list[Event], list[str]]:
            self._warm_up()  # what is loaded late is loaded before
            with _working_in(folder), watched() as seen, suppress(Exception):
                self._exercise()
            return seen, sorted(os.listdir(folder))

        return self._kept("seen", work)

    def _warm_up(self) -> None:
        def once() -> bool:
            with suppress(Exception):
                self._exercise()
            return True

        self._kept("warmed up", once)

    def _refuse(self, folder: Path, kind: Kind, wanted: str) -> None:
        for event in self._seen(folder)[0]:
            if event.kind == kind:
                raise Unmet(wanted, str(event))

    @check(
        "Work on the bytes that are handed over; what a plugin needs from the network belongs in its package.",
        after=AFTER,
    )
    def test_network(self, tmp_path: Path) -> None:
        """The work asks no network: no connection, no look-up of a name."""
        self._refuse(tmp_path, "network", "no network")

    @check("Keep everything in memory (io.BytesIO); the library writes what a style returns.", after=AFTER)
    def test_writes(self, tmp_path: Path) -> None:
        """The work writes, moves and removes no file, temporary ones included."""
        self._refuse(tmp_path, "write", "no file written")
        _, left = self._seen(tmp_path)
        if left:
            raise Unmet("an empty working folder", f"{left} in it")

    @check("Use a library in the same process; a program of that name may be missing, or be another one.", after=AFTER)
    def test_processes(self, tmp_path: Path) -> None:
        """The work starts no other program."""
        self._refuse(tmp_path, "process", "no other program")

    @check(
        "Pass settings to the function that needs them, or set them in a with block that takes them back.", after=AFTER
    )
    def test_global_state(self) -> None:
        """The work leaves locale, random state, warning filters, settings of libraries and the like as they were."""
        held = state.snapshot()
        try:
            self._warm_up()
            state.restore(held)  # so that a change made once and for all is seen at the second time
            held = state.snapshot()
            with suppress(Exception):
                self._exercise()
            found = state.changes(held)
        finally:
            state.restore(held)
        found = found or self._changes_elsewhere()
        if found:
            raise Unmet("the global state as it was", "; ".join(found)[:600])

    def _changes_elsewhere(self) -> list[str]:
        """Give what changed in a process of its own, where modules were loaded for the first time."""
        return []

    @check("Close files and end threads before returning: use with blocks.", after=AFTER)
    def test_leftovers(self) -> None:
        """The work leaves no thread running and no file open."""
        self._warm_up()
        threads, files = set(threading.enumerate()), _open_files()
        with suppress(Exception):
            self._exercise()
        until = time.monotonic() + _GRACE
        while (left := set(threading.enumerate()) - threads) and time.monotonic() < until:
            time.sleep(0.01)
        if left:
            raise Unmet("no thread left", ", ".join(sorted(thread.name for thread in left)))
        if files is None:
            skip("this system does not tell which files are open; no thread was left")
        still = {number: name for number, name in (_open_files() or {}).items() if files.get(number) != name}
        if still:
            raise Unmet("no file left open", ", ".join(sorted(map(str, still.values()))))


@contextmanager
def _working_in(folder: Path) -> Iterator[None]:
    before = os.getcwd()
    folder.mkdir(parents=True, exist_ok=True)
    os.chdir(folder)
    try:
        yield
    finally:
        os.chdir(before)


def _open_files() -> dict[int, str] | None:
    """Give what is open by its number; None where the system does not tell."""
    for place in ("/proc/self/fd", "/dev/fd"):
        try:
            numbers = [int(name) for name in os.listdir(place)]
        except OSError:
            continue
        found = {}
        for number in numbers:
            with suppress(OSError):
                os.fstat(number)
                found[number] = os.readlink(f"{place}/{number}") if place.startswith("/proc") else f"file {number}"
        return found
    return None
