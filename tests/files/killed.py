"""Run apart: a child overwrites a file in a loop and is killed at random moments; says what stood there each time.

Arguments: folder, rounds, ``whole`` for the library's way of writing or ``plain`` for the usual one.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path

from lanewise.files.writing import write_whole

SIZE = 400_000
OLD, NEW = b"o" * SIZE, b"n" * SIZE


def plain(path: Path, data: bytes) -> None:
    path.write_bytes(data)


def main(folder: Path, rounds: int, way: str) -> None:
    write = {"whole": write_whole, "plain": plain}[way]
    path = folder / "record.json"
    dice = random.Random(20240229)
    for _ in range(rounds):
        write_whole(path, OLD)
        ready, go = os.pipe()
        child = os.fork()
        if child == 0:
            os.write(go, b"!")
            while True:
                write(path, NEW)
                write(path, OLD)
        os.read(ready, 1)
        time.sleep(dice.uniform(0, 0.012))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(ready)
        os.close(go)
        sys.stdout.write({OLD: "old\n", NEW: "new\n"}.get(path.read_bytes(), "broken\n"))


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), sys.argv[3])
