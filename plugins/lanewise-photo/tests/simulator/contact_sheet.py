"""Looks at pictures: many on one page, or one with its truth drawn over it.

python -m simulator.contact_sheet phone,hard --seeds 0-11 --out page.png
python -m simulator.contact_sheet phone --seeds 3 --truth --width 1400 --out one.png
"""

from __future__ import annotations

import argparse
import io
from collections.abc import Sequence

import numpy as np
from PIL import Image, ImageDraw, ImageFont, ImageOps

from simulator import FAULTS, KINDS, Picture, make


def numbers(text: str) -> list[int]:
    """Read ``0-5,9`` as 0, 1, 2, 3, 4, 5, 9."""
    made: list[int] = []
    for part in text.split(","):
        low, _, high = part.partition("-")
        made += range(int(low), int(high or low) + 1)
    return made


def names(text: str) -> list[str]:
    """Read names of kinds; ``faults`` stands for all faults."""
    return [one for part in text.split(",") for one in (FAULTS if part == "faults" else [part])]


def seen(picture: Picture, truth: bool) -> Image.Image:
    """Open the file of a picture as a person would see it; with its truth drawn over it on request."""
    with Image.open(io.BytesIO(picture.bytes())) as stored:
        image = ImageOps.exif_transpose(stored).convert("RGB")
    if truth:
        _draw_truth(image, picture)
    return image


def _draw_truth(image: Image.Image, picture: Picture) -> None:
    pen, known = ImageDraw.Draw(image), picture.truth
    pen.polygon([tuple(at) for at in known.corners], outline=(255, 0, 0))
    if len(known.front_x):
        pen.line([tuple(at) for at in known.pixels(known.front_x, known.front_y)], fill=(0, 160, 0))
    for lane in known.lanes:
        ends = [y for y in (lane.origin, lane.front) if y is not None]
        if len(ends) == 2:
            pen.line([tuple(at) for at in known.pixels(np.full(2, lane.x), np.array(ends))], fill=(0, 120, 255))
        pen.text(tuple(known.pixels(lane.x, (lane.origin or 12) - 3)), lane.name, fill=(0, 0, 255))
    for spot in known.spots:
        half = 0.5 * (spot.leading - spot.trailing) * 0.7
        for y, wide in ((spot.apex, 1.0), (spot.trailing, 0.5), (spot.leading, 0.5)):
            bar = known.pixels(spot.x + np.array([-1, 1]) * wide * half, np.full(2, y))
            pen.line([tuple(at) for at in bar], fill=(255, 0, 255) if spot.alone else (255, 140, 0))
        note = f"{spot.peak:.2f} {spot.state[:4]} {spot.shape[:4]}"
        pen.text(tuple(known.pixels(spot.x + half + 0.5, spot.apex)), note, fill=(90, 0, 90))


def page(pictures: Sequence[tuple[str, Image.Image]], columns: int, width: int) -> Image.Image:
    """Put pictures on one page, each in a square cell with its name."""
    rows = -(-len(pictures) // columns)
    sheet = Image.new("RGB", (columns * width, rows * (width + 16)), (255, 255, 255))
    pen, font = ImageDraw.Draw(sheet), ImageFont.load_default(12)
    for number, (name, image) in enumerate(pictures):
        small = ImageOps.contain(image, (width - 4, width - 4), Image.Resampling.LANCZOS)
        left, top = number % columns * width, number // columns * (width + 16)
        sheet.paste(small, (left + 2, top + 16))
        pen.text((left + 4, top + 1), name, fill=(0, 0, 0), font=font)
    return sheet


def main(arguments: Sequence[str] | None = None) -> None:
    """Make a page."""
    parser = argparse.ArgumentParser(prog="contact_sheet", description="Pictures of the simulator on one page.")
    parser.add_argument("kinds", help=f"{', '.join(KINDS)}, faults, or names of faults, separated by commas")
    parser.add_argument("--seeds", type=numbers, default=[0, 1, 2, 3], help="such as 0-5,9")
    parser.add_argument("--megapixels", type=float, default=2.5, help="size of phone pictures")
    parser.add_argument("--columns", type=int, default=4)
    parser.add_argument("--width", type=int, default=460, help="of a cell [pixel]")
    parser.add_argument("--truth", action="store_true", help="draw the truth over each picture")
    parser.add_argument("--out", default="contact_sheet.png")
    given = parser.parse_args(arguments)
    pictures = []
    for kind in names(given.kinds):
        for seed in given.seeds:
            sized = {"megapixels": given.megapixels} if kind == "phone" or kind in FAULTS else {}
            sized = {} if kind in FAULTS and "megapixels" in FAULTS[kind].changes else sized
            pictures.append((f"{kind} {seed}", seen(make(kind, seed, **sized), given.truth)))
    page(pictures, min(given.columns, len(pictures)), given.width).save(given.out)


if __name__ == "__main__":
    main()
