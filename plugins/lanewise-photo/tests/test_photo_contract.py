"""The contract of import formats on small pictures, since the kit reads them several hundred times."""

from typing import ClassVar

import numpy as np
from photo_pictures import CORNERS, MARKS, Scene, draw, saved

from lanewise.testing import Example, ImportFormatContract
from lanewise_photo import plugin

OPTIONS = {
    "size": "40 x 50",
    "orientation": "up",
    "names": "ink A; ink B; ink C; ink D",
    "lanes": 4,
    "system": "water",
}
FEW = {0: MARKS[0], 3: MARKS[3]}
FEW_OPTIONS = {**OPTIONS, "names": "ink A; ink D", "lanes": 2}


def small(marks=MARKS, **changes):
    """Draw at half the scale: a sheet of 40 x 50 mm in 0.12 megapixels."""
    return draw(Scene(marks=marks, size=(320, 365), corners=CORNERS / 2, **changes))


def expected(marks):
    """What is read of each mark, apart from its position."""
    lanes = [str(lane) for lane, (_, spots) in enumerate(marks.items(), start=1) for _ in spots]
    samples = [f"ink {'ABCD'[place]}" for place, spots in marks.items() for _ in spots]
    return {
        "plate": ["1"] * len(lanes),
        "lane": lanes,
        "spot": [str(number) for spots in marks.values() for number, _ in enumerate(spots, start=1)],
        "sample": samples,
        "state": ["measured"] * len(lanes),
    }


class TestPhotograph(ImportFormatContract):
    plugin = plugin
    format = "photograph"
    small_seconds = 5.0  # a picture is measured, under the tests' coverage and on a busy machine too
    not_applicable: ClassVar = {
        "units": "a picture is measured in millimetres",
        "encodings": "a picture is no text",
        "round_trip": "the plugin writes no pictures",
        "size": "a picture has no rows; sizes beyond 100 megapixels are refused, see the tests of pictures",
    }

    def examples(self):
        return [
            Example("inks.png", saved(small()), expected(MARKS), OPTIONS),
            Example("inks.jpg", saved(small(FEW), "JPEG", quality=90), expected(FEW), FEW_OPTIONS),
            Example("inks.tif", saved(small(FEW), "TIFF"), expected(FEW), FEW_OPTIONS),
        ]

    def damaged(self):
        desk = np.full((200, 200, 3), 90 * 257, np.uint16)
        jpeg = saved(small(), "JPEG", quality=90)
        return {
            "cut.jpg": jpeg[: len(jpeg) // 2],
            "desk.png": saved(desk),
            "no-origin.png": saved(small(origin=False, front=False)),
        }
