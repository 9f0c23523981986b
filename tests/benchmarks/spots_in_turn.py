"""One spot through `measure` beside one number object a reading, in turn; prints seconds of CPU a spot as JSON.

Run in an interpreter of its own, as a user's script would be, so that no test runner's memory gets in the way.
"""

from __future__ import annotations

import json
import sys
import time

from peers import marks_of, object_by_object

from lanewise.analyses.measure import measure

ROUNDS = 7
REPEATS = 5  # of the faster side, so that both sides of a round take about as long


def seconds(call, repeats, count):
    start = time.process_time()
    for _ in range(repeats):
        call()
    return (time.process_time() - start) / (repeats * count)


def main():
    many, few = marks_of(20_000), marks_of(200)
    measure(many), object_by_object(few)
    took = ([], [])
    for _ in range(ROUNDS):
        took[0].append(seconds(lambda: measure(many), REPEATS, len(many)))
        took[1].append(seconds(lambda: object_by_object(few), 1, len(few)))
    json.dump(took, sys.stdout)


if __name__ == "__main__":
    main()
