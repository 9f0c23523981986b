"""The plugin: one import format and its options; the reader loads when it is needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lanewise.hooks import ImportFormat, Recognition, Sample, hookimpl, option

_SIGNATURES = (
    (b"\xff\xd8\xff", "JPEG"),
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"II*\x00", "TIFF"),
    (b"MM\x00*", "TIFF"),
)


@dataclass(frozen=True)
class PhotographOptions:
    """Options of the format ``photograph``: what the picture itself does not say."""

    lanes: int | None = option(None, help="number of lanes", minimum=1, maximum=40)
    names: str = option("", help="what was applied to the lanes, from the left, joined by ';': 'ink A; ink B'")
    size: str = option("", help="width x height of the sheet with the front up, such as '80 x 100'", unit="mm")
    origin: float | None = option(
        None, help="height of the origin line above the lower edge, to a few millimetres", unit="mm", minimum=0.5
    )
    front: float | None = option(
        None, help="height of the front above the lower edge, where it cannot be seen", unit="mm", minimum=1
    )
    corners: str = option(
        "", help="corners of the sheet, going round: 'x,y; x,y; x,y; x,y'; several sheets joined by '|'", unit="px"
    )
    orientation: str = option(
        "", help="where in the picture the front is; giving it confirms it", choices=("", "up", "down", "left", "right")
    )
    mirrored: str = option(
        "", help="whether the picture shows the sheet as in a mirror; giving it confirms it", choices=("", "no", "yes")
    )
    page: int | None = option(None, help="which picture of a TIFF file that holds several", minimum=1)
    bar: str = option(
        "", help="a scale bar in the plane of the sheet: both ends [px] and its length [mm], 'x,y; x,y; 100'"
    )
    plates: int = option(1, help="number of sheets in the picture", minimum=1, maximum=12)
    system: str = option("", help="solvent system")
    layer: str = option("", help="stationary phase")
    plan: str = option(
        "", help="the plan of the sheet, as its blank record: the text itself, or the path of a file that holds it"
    )
    corrections: str = option("", help="corrections: the text itself, or the path of a file that holds it")
    origin_definition: float = option(
        0.2,
        help="standard uncertainty of where on the origin line the drops sat, which no picture shows",
        unit="mm",
        minimum=0,
    )
    front_definition: float = option(
        0.2,
        help="standard uncertainty of where the front was when the run ended; 0 if it was marked at once",
        unit="mm",
        minimum=0,
    )


def recognise(sample: Sample) -> Recognition:
    """Say whether a file is a picture, by its first bytes.

    Examples
    --------
    >>> recognise(Sample("a.jpg", bytes([255, 216, 255, 224]), 4, None)).claim
    'maybe'
    """
    for signature, kind in _SIGNATURES:
        if sample.head.startswith(signature):
            return Recognition.maybe(f"it begins as a {kind} picture does")  # what it shows is not known yet
    return Recognition.no("it does not begin as a JPEG, PNG or TIFF picture does")


@hookimpl
def lanewise_import_formats() -> Sequence[ImportFormat]:
    """Register the photograph format.

    Examples
    --------
    >>> [one.name for one in lanewise_import_formats()]
    ['photograph']
    """
    return (
        ImportFormat(
            name="photograph",
            title="Photograph: a picture or scan of a developed sheet, measured",
            read="lanewise_photo.importing:read",
            suffixes=(".jpg", ".jpeg", ".png", ".tif", ".tiff"),
            recognise=recognise,
            options=PhotographOptions,
            description=(
                "Finds the sheet, the origin line, the front, lanes and spots, and reads positions with an uncertainty "
                "of their own and one of the sheet's geometry. What cannot be measured is refused or flagged. "
                "Give orientation: nothing in a picture says for certain which end is up."
            ),
            needs=("pillow", "scipy"),
        ),
    )
