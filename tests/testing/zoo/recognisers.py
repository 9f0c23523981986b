"""Formats whose recogniser is at fault."""

from __future__ import annotations

from lanewise.hooks import Recognition, hookimpl
from zoo import Caught
from zoo.sheet import recognise, sheet

CAUGHT = {
    "shy-sheet": Caught("recognised", "Let recognise() return Recognition.yes with the reason"),
    "speechless-sheet": Caught("any_bytes", "Return a Recognition"),
    "slow-sheet": Caught("recogniser_speed", "Look at the first lines only"),
}


def shy(sample):
    return Recognition.no("one never knows")


def speechless(sample):
    return recognise("speechless-sheet")(sample) if sample.head else None


def slow(sample):
    for _ in range(10):
        count = {}
        for sign in sample.text or "":
            count[sign] = count.get(sign, 0) + 1
    return recognise("slow-sheet")(sample)


@hookimpl
def lanewise_import_formats():
    return [
        sheet("shy-sheet", recogniser=shy),
        sheet("speechless-sheet", recogniser=speechless),
        sheet("slow-sheet", recogniser=slow),
    ]
