"""Opening a picture safely: what kind it is, how large, which way up, and its pixels at a chosen reduction."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from lanewise.errors import UnreadableFile
from lanewise_photo.profiles import in_colour

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_PIXELS = 100_000_000
LEAST_SIDE = 240
FORMATS = ("JPEG", "PNG", "TIFF")
_ORIENTATION, _FOCAL_35, _FOCAL, _SOFTWARE_ZOOM = 0x0112, 0xA405, 0x920A, 0xA404
_SUBFILE = 254
_EXIF = 0x8769


@dataclass(frozen=True, eq=False)
class Facts:
    """What the head of a picture file says.

    Attributes
    ----------
    width, height : int
        Size of the full picture, the right way up. [px]
    kind : str
        ``JPEG``, ``PNG`` or ``TIFF``.
    orientation : int
        Orientation flag, 1 to 8.
    resolution : float or None
        Stated resolution. [px/mm]
    focal : float or None
        Focal length in units of the longer side of the picture; None where it is not stated or a zoom by cropping is.
    camera : bool
        Whether the file says that it comes from a camera.
    quantisation : tuple of two arrays of shape (64,), or None
        Steps of brightness and colour of a JPEG file.
    grey : bool
        Whether the picture has no colour.
    pages : int
        Number of pictures in the file, without previews.
    """

    width: int
    height: int
    kind: str
    orientation: int
    resolution: float | None
    focal: float | None
    camera: bool
    quantisation: tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]] | None
    grey: bool
    pages: int


@dataclass(frozen=True, eq=False)
class Picture:
    """Pixels the right way up, perhaps at a reduced size.

    Attributes
    ----------
    pixels : array of shape (rows, columns, 3), uint8
        Code values.
    step : float
        Full-size pixels to a pixel of this array.
    left, top : float
        Where the centre of pixel (0, 0) lies in the full picture, whose first pixel has its centre at (0, 0). [px]
    facts : Facts
        What the head of the file says.
    """

    pixels: npt.NDArray[np.uint8]
    step: float
    left: float
    top: float
    facts: Facts

    def inside(self, points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Turn full-size pixels, shape (..., 2) as x and y, into places of this array."""
        return np.asarray((points - np.array([self.left, self.top])) / self.step, dtype=float)

    def outside(self, points: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Turn places of this array, shape (..., 2) as x and y, into full-size pixels."""
        return np.asarray(points * self.step + np.array([self.left, self.top]), dtype=float)


class PictureFile:
    """A picture file in memory, decoded when asked, at the reduction asked for.

    Parameters
    ----------
    data : bytes
        Content of the file.
    page : int or None
        Which picture of a file that holds several, from 1.

    Raises
    ------
    UnreadableFile
        If it is no JPEG, PNG or TIFF picture, is cut short, is too small or too large to be measured, or holds several
        pictures of which none was chosen.
    """

    def __init__(self, data: bytes, page: int | None = None) -> None:
        self.data = data
        with _opened(data) as image:
            self._frame = _frame_of(image, page)
            image.seek(self._frame)
            self.facts = _facts(image)
        _check_size(self.facts)

    def decode(self, least: int) -> Picture:
        """Decode so that the longer side keeps at least `least` pixels, or whole where it is smaller."""
        facts = self.facts
        step = 1
        while step < 8 and max(facts.width, facts.height) // (2 * step) >= least:
            step *= 2
        with _opened(self.data) as image:
            try:
                image.seek(self._frame)
                pixels = _pixels(image, step)
            except (OSError, SyntaxError, ValueError, EOFError) as fault:
                raise UnreadableFile(
                    f"the picture is damaged or cut short ({fault}). Copy it from the camera again."
                ) from fault
        left, top = _offsets(facts, step, pixels.shape[1], pixels.shape[0])
        return Picture(pixels, float(step), left, top, facts)


def _opened(data: bytes) -> Image:
    from PIL import Image, UnidentifiedImageError

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return Image.open(BytesIO(data), formats=FORMATS)
    except UnidentifiedImageError as fault:
        raise UnreadableFile("wanted a JPEG, PNG or TIFF picture, given something else or a damaged file") from fault
    except Image.DecompressionBombError as fault:
        raise UnreadableFile(_too_large("far more")) from fault
    except (OSError, SyntaxError, ValueError, EOFError, KeyError, TypeError, IndexError) as fault:
        raise UnreadableFile(f"the head of the picture is damaged ({fault}). Copy it from the camera again.") from fault


def _pages(image: Image) -> list[int]:
    """Frames of a TIFF file that are pictures of their own: TIFF 6.0, tag 254, bit 0 marks a smaller copy."""
    if image.format != "TIFF":
        return [0]
    here, found, count = image.tell(), [], int(getattr(image, "n_frames", 1))
    tags: Any = image
    for number in range(count):
        image.seek(number)
        if count == 1 or not int(tags.tag_v2.get(_SUBFILE, 0)) & 1:
            found.append(number)
    image.seek(here)
    return found or [0]


def _frame_of(image: Image, page: int | None) -> int:
    try:
        pages = _pages(image)
    except (OSError, SyntaxError, ValueError, EOFError, KeyError, TypeError, IndexError) as fault:
        raise UnreadableFile(f"the head of the picture is damaged ({fault}). Copy it from the camera again.") from fault
    if page is None and len(pages) > 1:
        raise UnreadableFile(f"the file holds {len(pages)} pictures: wanted one. Give page, 1 to {len(pages)}.")
    if page is not None and page > len(pages):
        raise UnreadableFile(f"wanted page {page}, but the file holds {len(pages)}. Give page, 1 to {len(pages)}.")
    return pages[(page or 1) - 1]


def _too_large(count: str) -> str:
    return (
        f"wanted a picture of at most {MOST_PIXELS // 10**6} megapixels, given {count}. "
        "Twelve are more than enough: reduce it or photograph anew."
    )


def _check_size(facts: Facts) -> None:
    if facts.width * facts.height > MOST_PIXELS:
        raise UnreadableFile(_too_large(f"{facts.width} x {facts.height} pixels"))
    if min(facts.width, facts.height) < LEAST_SIDE:
        raise UnreadableFile(
            f"too small: wanted at least {LEAST_SIDE} pixels a side, given {facts.width} x {facts.height}. "
            "Give the picture as the camera stored it."
        )


def _facts(image: Image) -> Facts:
    try:
        exif: Any = image.getexif()
        more: Any = exif.get_ifd(_EXIF)
    except Exception:  # damaged remarks do no harm to the picture
        exif, more = {}, {}
    orientation = exif.get(_ORIENTATION, 1)
    orientation = int(orientation) if isinstance(orientation, int) and 1 <= orientation <= 8 else 1
    width, height = image.size
    if orientation >= 5:
        width, height = height, width
    kind = "JPEG" if image.format == "MPO" else str(image.format)
    return Facts(
        width=width,
        height=height,
        kind=kind,
        orientation=orientation,
        resolution=_resolution(image),
        focal=_focal(more, width, height),
        camera=bool(_FOCAL in more or exif.get(0x0110)),
        quantisation=_quantisation(image),
        grey=image.mode in {"1", "L", "LA", "I", "I;16", "I;16B", "F"},
        pages=len(_pages(image)),
    )


def _resolution(image: Image) -> float | None:
    stated: Any = image.info.get("dpi")
    try:
        across, along = (float(one) for one in stated)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not (across > 0 and abs(across - along) < 0.01 * across):
        return None
    return across / 25.4 if across >= 100 else None  # 72 and 96 are what programs write who do not know


def _focal(more: Any, width: int, height: int) -> float | None:
    try:
        zoom, focal = float(more.get(_SOFTWARE_ZOOM, 1) or 1), float(more.get(_FOCAL_35, 0) or 0)
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    if not (8 <= focal <= 300) or zoom > 1.01:
        return None
    diagonal = float(np.hypot(width, height))
    return focal / 43.27 * diagonal / max(width, height)  # 43.27 mm: diagonal of 36 mm x 24 mm


def _quantisation(image: Image) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]] | None:
    tables = getattr(image, "quantization", None)
    if not tables:
        return None
    given = [np.asarray(table, dtype=float) for _, table in sorted(tables.items())]
    return given[0], given[min(1, len(given) - 1)]


def _pixels(image: Image, step: int) -> npt.NDArray[np.uint8]:

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        full = image.size
        if image.format in {"JPEG", "MPO"} and step > 1:
            image.draft(image.mode, (-(-full[0] // step), -(-full[1] // step)))
        image.load()
        orientation = image.getexif().get(_ORIENTATION, 1)
        left = step // max(1, round(full[0] / image.size[0]))
        made: Image = image
        if left > 1 and image.mode in {"L", "RGB", "CMYK"}:
            made, left = image.reduce(left), 1  # less to convert
            made.info = image.info
        made = in_colour(made)
        if left > 1:
            made = made.reduce(left)
        return np.asarray(_upright(made, orientation))


_TURNS = {
    2: "FLIP_LEFT_RIGHT",
    3: "ROTATE_180",
    4: "FLIP_TOP_BOTTOM",
    5: "TRANSPOSE",
    6: "ROTATE_270",
    7: "TRANSVERSE",
    8: "ROTATE_90",
}


def _upright(image: Image, orientation: object) -> Image:
    from PIL import Image

    turn = _TURNS.get(orientation) if isinstance(orientation, int) else None
    return image if turn is None else image.transpose(getattr(Image.Transpose, turn))


def _offsets(facts: Facts, step: int, columns: int, rows: int) -> tuple[float, float]:
    """Where the first reduced pixel lies: at the end of a flipped side the last reduced pixel may reach beyond it."""
    half = (step - 1) / 2
    from_right = facts.orientation in {2, 3, 6, 7}
    from_below = facts.orientation in {3, 4, 7, 8}
    left = half - (columns * step - facts.width if from_right else 0)
    top = half - (rows * step - facts.height if from_below else 0)
    return left, top
