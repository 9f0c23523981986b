"""What may be wrong with a reading, in words: a code, a sentence, a piece of advice, and what was tested, each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

Severity: TypeAlias = Literal["stop", "widen", "doubt", "note"]

SENTENCES: Final[dict[str, tuple[Severity, str, str, str]]] = {
    "no_sheet": (
        "stop",
        "no sheet stands out from its background",
        "Lay it on a plain darker surface, or give corners.",
        "No four-sided region fills 5 % of the picture, and no four faint steps of 5 standard deviations meet.",
    ),
    "sheet_cut": (
        "stop",
        "the sheet is cut off by the edge of the picture",
        "Step back until all four corners show.",
        "A corner of the outline lies within 0.6 % of the picture's longer side from the frame, or beyond it.",
    ),
    "too_small": (
        "stop",
        "the sheet is too small in the picture",
        "Go nearer or give the picture in full size.",
        "Pixels a millimetre in the middle of the sheet, before the edges are fitted.",
    ),
    "over_exposed": (
        "stop",
        "the paper is over-exposed",
        "Photograph anew with less light, or the exposure set on the paper.",
        "Share of the sheet where all channels are at 253.5 of 255 or above.",
    ),
    "too_dark": (
        "stop",
        "the picture is too dark",
        "Photograph anew in more light.",
        "60th percentile of the smallest channel on a grid of 24 x 24 places of the sheet, in code values.",
    ),
    "out_of_focus": (
        "stop",
        "the picture is out of focus",
        "Photograph anew with the focus on the paper.",
        "Median over the edges of the blur's standard deviation across them. [mm]",
    ),
    "not_flat": (
        "stop",
        "the sheet is bent or folded too far to be laid flat",
        "Weigh it down at the edges, or scan it.",
        "Scatter of an edge about a curve of degree 4, or the shift that the fitted heights of the sheet cause. [mm]",
    ),
    "edge_missing": (
        "stop",
        "an edge of the sheet cannot be followed",
        "Clear what lies over it, or give corners.",
        "Share of 140 normals on which the edge was found, for the worst edge.",
    ),
    "no_origin": (
        "stop",
        "no origin line was found",
        "Give origin, its height above the lower edge, or read it with a ruler.",
        "No line in the lower part of the sheet passes the test for a pencil line (strength and support).",
    ),
    "origin_given": (
        "widen",
        "no origin line was found; the height given was taken",
        "Draw it in pencil across the whole sheet.",
        "As `no_origin`; the height given stands in with the uncertainty of a line set by hand.",
    ),
    "no_front": (
        "stop",
        "no front was found, so that there is no Rf",
        "Mark the front in pencil, or give front, its height above the lower edge.",
        "None of three models (pencil line, step, ridge) passes its test above the origin line.",
    ),
    "front_ambiguous": (
        "stop",
        "more than one line may be the front: positions are given, but no Rf",
        "Give front, its height above the lower edge.",
        "Two lines pass the test for the front, and neither is clearly the stronger.",
    ),
    "front_model": (
        "widen",
        "it is not clear what kind of line the front is",
        "Mark the front in pencil at once.",
        "Distance between the fronts that two models give. [mm]",
    ),
    "front_uneven": (
        "widen",
        "the front is uneven",
        "Keep lanes 10 mm from the side edges.",
        "Scatter of the front about its smooth course. [mm]",
    ),
    "origin_ambiguous": (
        "doubt",
        "more than one line may be the origin",
        "Give origin, its height above the lower edge.",
        "Two lines pass the test for the origin line, and no height was given.",
    ),
    "mirrored": (
        "doubt",
        "the sheet is seen as in a mirror; lanes were numbered from the right",
        "Photograph the side with the spots, and give the picture as it was taken.",
        "The corner mark fits, or writing matches the names, better in a mirror than as seen.",
    ),
    "orientation_unknown": (
        "doubt",
        "nothing says which end of the sheet is up: is the front at the upper end of the picture?",
        "Give orientation, 'up' if it is.",
        "Neither corner mark, origin line at the height given, nor writing parts the two ends.",
    ),
    "orientation_told": (
        "note",
        "it was told from the sheet which end is up",
        "Give orientation if that is wrong.",
        "Names the evidence: corner mark, origin line at the height given, or writing that matches the names.",
    ),
    "mirror_unknown": (
        "doubt",
        "nothing says whether the picture is mirrored: do the lanes lie in this order, from the left?",
        "Give mirrored, 'no' if they do, or print the corner mark on the sheet.",
        "Neither the corner mark nor writing that matches the names parts the sheet from its mirror image.",
    ),
    "scale_assumed": (
        "note",
        "the size of the sheet is not known: millimetres are in proportion only, Rf is not touched",
        "Give size.",
        "Neither size, bar nor a stated resolution of a scan; the height is set to 100 mm.",
    ),
    "size_mismatch": (
        "doubt",
        "the sheet has not the proportions of the size given",
        "Check size: width x height, with the front up.",
        "Width over height as seen, divided by that of the size given; 0.87 to 1.15 pass.",
    ),
    "sheet_bulges": (
        "widen",
        "the sheet does not lie flat; its bulge was worked out from the bowed edges",
        "Weigh it down or scan it.",
        "Largest shift along the run by the fitted heights of the sheet. [mm]",
    ),
    "low_resolution": (
        "widen",
        "few pixels a millimetre",
        "Go nearer or give the picture in full size.",
        "Pixels a millimetre in the middle of the sheet.",
    ),
    "blurred": (
        "widen",
        "the picture is not sharp",
        "Hold still, focus on the paper.",
        "Median over the edges of the blur's standard deviation across them. [mm]",
    ),
    "saturated": (
        "widen",
        "parts of the paper are at the end of the scale; colours and areas there are not to be trusted",
        "Use less light.",
        "Share of the sheet where some channel is at 253.5 of 255 or above.",
    ),
    "dark": (
        "widen",
        "the paper is dark in the picture",
        "Use more light.",
        "Median code value of bare paper in its darkest channel.",
    ),
    "compressed": (
        "widen",
        "the picture is strongly compressed",
        "Give the picture as the camera stored it.",
        "Mean step of the quantisation table of brightness.",
    ),
    "light_uneven": (
        "note",
        "the light changes colour over the sheet",
        "Use one kind of light.",
        "Range of the difference between the red and the blue background over the sheet, as optical density.",
    ),
    "hard_shadow": (
        "doubt",
        "a shadow or crease crosses the sheet",
        "Take away what casts it; lay the sheet flat.",
        "Share of a straight course across the sheet along which a neutral step or ridge was found.",
    ),
    "sheet_fills_frame": (
        "doubt",
        "the sheet fills the picture, so that its edges are not seen; heights are counted from the picture's edge",
        "Scan with a margin round the sheet.",
        "No background was found in a picture without perspective whose rim is as bright as its middle.",
    ),
    "background_bright": (
        "doubt",
        "sheet and background hardly differ",
        "Use a darker background.",
        "Difference in linear light between paper and background at the weakest edge, of 255.",
    ),
    "grey": (
        "doubt",
        "the picture has no colour: pale spots are missed, and colours not told apart",
        "Give a picture in colour.",
        "The file holds one channel only.",
    ),
    "no_spots": (
        "stop",
        "no spot was found",
        "If some can be seen, add them by hand.",
        "No spot of any lane passes the threshold of its strength.",
    ),
    "ink_line": (
        "stop",
        "the origin line is coloured: ink runs with the solvent, and its dyes cannot be told from the samples",
        "Draw it in pencil.",
        "Spread of the three channels of the origin line, as a share of the largest.",
    ),
    "several_sheets": (
        "stop",
        "more than one sheet is in the picture",
        "Give plates, their number, or the corners of the one that is meant.",
        "A second outline with a fit over 0.95 and a contrast over 25, half to twice as large, lies apart.",
    ),
    "lane_count": (
        "doubt",
        "the number of lanes seen is not the number given",
        "Check lanes; name the ones that are empty.",
        "Lanes found, against the option `lanes`.",
    ),
    "faint": (
        "doubt",
        "too faint to be told from the paper with certainty",
        "Look at the sheet.",
        "Optical density at the darkest point, or distance from the blank in standard deviations.",
    ),
    "tailing": (
        "note",
        "the spot has a tail",
        "Apply less.",
        "Length of the tail over the standard deviation of the spot, from 1.",
    ),
    "streak": (
        "note",
        "the spot is a streak; its darkest point was read",
        "Apply less.",
        "Length of the tail over the standard deviation of the spot, from 3.",
    ),
    "overlap": (
        "doubt",
        "the spot overlaps its neighbour",
        "Try another solvent system.",
        "Distance of two darkest points below 1.5 times the sum of their standard deviations. [mm]",
    ),
    "neutral": (
        "doubt",
        "grey: it may be pencil or a shadow",
        "Look at the sheet.",
        "Range of the three channels over the largest is small: the spot has no colour.",
    ),
    "at_origin": (
        "note",
        "so near the origin line that only a limit can be given",
        "",
        "The darkest point lies within 1.5 mm of the origin line, or the spot reaches it.",
    ),
    "with_front": (
        "note",
        "so near the front that only a limit can be given",
        "",
        "The darkest point lies within 1.5 mm of the front, or the spot reaches it.",
    ),
}
"""Severity, sentence and advice for who made the sheet, and what the number is for who works on the reader."""


@dataclass(frozen=True)
class Flag:
    """One thing that may be wrong.

    Attributes
    ----------
    code : str
        Key of `SENTENCES`.
    detail : str
        What was found, in words; may be empty.
    number, limit : float or None
        What was found and its limit, as `test` defines them; None where there is no number.
    """

    code: str
    detail: str = ""
    number: float | None = None
    limit: float | None = None

    @property
    def severity(self) -> Severity:
        """How much it matters.

        ``stop``: nothing or no Rf is given; ``widen``: the interval is wider; ``doubt``: what is given may be another
        thing than it was taken for, which no interval covers; ``note``: for information, nothing is wrong.
        """
        return SENTENCES[self.code][0]

    @property
    def sentence(self) -> str:
        """What it means, in words."""
        return SENTENCES[self.code][1]

    @property
    def advice(self) -> str:
        """What to do about it."""
        return SENTENCES[self.code][2]

    @property
    def test(self) -> str:
        """What was tested and what the number is, for who works on the reader."""
        return SENTENCES[self.code][3]

    @property
    def warns(self) -> bool:
        """Whether a number may be wrong because of it, beyond what its interval says."""
        return self.severity in {"stop", "doubt"}

    def __str__(self) -> str:
        detail = f" ({self.detail})" if self.detail else ""
        return f"{self.code}: {self.sentence}{detail}. {self.advice}".strip()


def flags_in(note: str) -> tuple[Flag, ...]:
    r"""Give the flags that a note of a study holds, one a line; other lines are none.

    Parameters
    ----------
    note : str
        Of a plate, lane or spot that was read from a picture.

    Examples
    --------
    >>> [flag.code for flag in flags_in("Read as a pencil line.\n" + str(Flag("overlap", "2.1 mm apart")))]
    ['overlap']
    """
    codes = (line.split(":", 1)[0] for line in note.splitlines())
    return tuple(Flag(code) for code in codes if code in SENTENCES)
