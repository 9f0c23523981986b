"""What goes wrong with pictures: each fault is a change of a good picture, or something done to it afterwards."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from simulator import after
from simulator.draw import Draw
from simulator.files import Pixels
from simulator.truth import Truth

After = Callable[[Pixels, Truth, Draw], tuple[Pixels, Truth]]


@dataclass(frozen=True)
class Fault:
    """A fault.

    Attributes
    ----------
    name : str
    what : str
        What is wrong, in words.
    readable : bool
        Whether a careful person could still give every Rf that can be seen.
    changes : mapping
        Choices that are fixed; a pair of numbers is a range to draw from.
    after : callable or None
        What is done to the finished picture.
    """

    name: str
    what: str
    readable: bool
    changes: Mapping[str, Any] = field(default_factory=dict)
    after: After | None = None

    def drawn(self, seed: int) -> dict[str, Any]:
        """Give the changes of one picture."""
        rng = np.random.default_rng([seed, len(self.name), sum(map(ord, self.name))])
        made = {}
        for name, value in self.changes.items():
            drawn = rng.uniform(*value) if isinstance(value, tuple) and len(value) == 2 else value
            made[name] = list(drawn) if isinstance(drawn, tuple) else drawn
        return made

    def applied(self, image: Pixels, truth: Truth, draw: Draw) -> tuple[Pixels, Truth]:
        """Finish the picture."""
        truth = replace(truth, readable=self.readable)
        return self.after(image, truth, draw) if self.after else (image, truth)


_LIKE_PAPER = {"desk_colour": (0.85, 0.84, 0.815), "desk_texture": 0.08, "sheet_shadow": (0.0, 0.03), "layer": "paper"}
_TEXT = {"page": True, "origin_line": False, "front": "none", "spots": False, "layer": "paper"}
_OVER = {"front": "none", "run_off": True, "run_share": (1.04, 1.25)}
_SMALL = {"size": [100, 100], "fill": (0.45, 0.6), "megapixels": 0.3}
_FAINT = {"front": "tide", "tide_od": (0.007, 0.016), "layer": "paper"}
_FOLDED = {"crease": True, "crease_height": (4.0, 9.0), "layer": "paper"}
_WET = {"layer": "paper", "front": "wet", "show_through": (0.15, 0.3)}
_JPEG = {"quality": 25, "subsampling": 2, "megapixels": 3.0}

_ALL = (
    # A person could not give Rf from these, or should not.
    Fault("no_sheet", "a desk with pens and coins and no sheet", False, {"sheet": False, "clutter": True}),
    Fault("page_of_text", "a printed page", False, _TEXT),
    Fault("blank_sheet", "origin and front, and not one spot", False, {"spots": False}),
    Fault("no_front", "no front to be seen", False, {"front": "none"}),
    Fault("no_origin", "no origin line", False, {"origin_line": False}),
    Fault("front_run_off", "the front ran off the sheet", False, _OVER),
    Fault("sheet_cut", "the frame cuts the sheet", False, {"frame_cut": True}),
    Fault("over_exposed", "so bright that most spots are gone", False, {"white": (2.2, 3.5)}),
    Fault("too_dark", "a few percent of the light", False, {"white": (0.012, 0.035)}),
    Fault("out_of_focus", "points are discs of 2 to 4 mm", False, {"defocus": (1.0, 2.0)}),
    Fault("motion_blur", "moved by 2 to 4 mm", False, {"motion": (2.0, 4.0)}),
    Fault("too_small", "2 to 3 pixels a millimetre", False, _SMALL),
    Fault("two_sheets", "two sheets in one picture", False, {"two_sheets": True, "layer": "paper", "size": [60, 90]}),
    Fault("ink_line", "the origin was drawn in ink, which ran", False, {"ink_line": True, "layer": "paper"}),
    # From these a careful person could.
    Fault("desk_like_paper", "a white sheet on a white table", True, _LIKE_PAPER),
    Fault("finger", "a finger over an edge", True, {"finger": True}),
    Fault("glare", "a lamp mirrored on the sheet", True, {"glare": True}),
    Fault("hard_shadow", "a shadow with a sharp edge across the sheet", True, {"hard_shadow": True}),
    Fault("turned", "upside down", True, {"lanes": 3}, after.turned),
    Fault("mirrored", "mirrored", True, {"lanes": 3}, after.mirrored),
    Fault("sideways", "turned by a right angle", True, {}, after.sideways),
    Fault("tide_only", "a faint dried tide line is all there is of the front", True, _FAINT),
    Fault("two_fronts", "a second line below the front", True, {"second_front": True}),
    Fault("spot_under_front", "a spot under the pencil line", True, {"under_front": True, "front": "pencil"}),
    Fault("jpeg_25", "compressed very strongly", True, _JPEG),
    Fault("compressed_twice", "made smaller and compressed again by a messenger", True, {}, after.compressed_twice),
    Fault("screenshot", "a screenshot with bars around the picture", True, {}, after.screenshot),
    Fault("strong_crease", "folded, and far from flat again", True, _FOLDED),
    Fault("bulge_6_mm", "the middle stands 6 mm above the desk", True, {"bulge": 6.0, "layer": "paper"}),
    Fault("see_through", "wet, and a printed pattern shows through", True, _WET),
    Fault("ruled_paper", "cut from ruled paper", True, {"ruled": True, "layer": "paper"}),
    Fault("torn_corner", "a corner torn off", True, {"torn": (0.12, 0.3), "layer": "paper"}),
    Fault("steep", "taken from the side", True, {"tilt": (48.0, 60.0), "fill": 0.8}),
    Fault("coloured_lamp", "under a strongly coloured lamp", True, {"cast": [1.0, 0.62, 0.22]}),
)
FAULTS: dict[str, Fault] = {fault.name: fault for fault in _ALL}
