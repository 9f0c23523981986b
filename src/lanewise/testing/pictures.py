"""Small real pictures, drawn by hand without any library: a sheet with two lanes and a spot in each."""

from __future__ import annotations

import struct
import zlib

from lanewise.document import Figure, FigureKind

WIDTH, HEIGHT = 80, 50  # of the sheet [mm]
_ORIGIN, _FRONT = 8, 42  # above the lower edge [mm]
_SPOTS = ((20, 25, "A"), (60, 30, "B"))
DESCRIPTION = (
    "Sheet of 80 mm by 50 mm; origin line 8 mm from the lower edge, front 34 mm above it.",
    "Lane A, black ink: one spot, blue, round, centre 17.0 mm above the origin, Rf 0.50 ± 0.02.",
    "Lane B, brown ink: one spot, orange, square, centre 22.0 mm above the origin, Rf 0.65 ± 0.02.",
)


def draw(kind: FigureKind) -> bytes:
    r"""Draw the sheet.

    Parameters
    ----------
    kind : {"svg", "png", "pdf"}
        Kind of picture.

    Returns
    -------
    bytes
        The same bytes each time.

    Examples
    --------
    >>> [draw(kind)[:4] for kind in ("svg", "png", "pdf")]
    [b'<svg', b'\x89PNG', b'%PDF']
    """
    return {"svg": _svg, "png": _png, "pdf": _pdf}[kind]()


def sheet_figure(name: str = "plate-1", description: tuple[str, ...] = DESCRIPTION) -> Figure:
    """Make a figure of the sheet."""
    return Figure(name, "Sheet 1 as it was read, lanes A and B (invented data).", description, draw, WIDTH, HEIGHT)


def _svg() -> bytes:
    lines = "".join(f'<path d="M4 {HEIGHT - at}H76" stroke="#000" stroke-width=".4"/>' for at in (_ORIGIN, _FRONT))
    (ax, ay, a), (bx, by, b) = _SPOTS
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}mm" height="{HEIGHT}mm" viewBox="0 0 {WIDTH} {HEIGHT}">'
        f'<title>Sheet 1</title><rect width="{WIDTH}" height="{HEIGHT}" fill="#fff" stroke="#000"/>{lines}'
        f'<circle cx="{ax}" cy="{HEIGHT - ay}" r="3" fill="#30588c"/>'
        f'<rect x="{bx - 3}" y="{HEIGHT - by - 3}" width="6" height="6" fill="#a63c06"/>'
        f'<text x="{ax}" y="48" font-size="4" text-anchor="middle">{a}</text>'
        f'<text x="{bx}" y="48" font-size="4" text-anchor="middle">{b}</text></svg>'
    ).encode()


def _png() -> bytes:
    """One pixel a millimetre, grey: 255 paper, 0 lines, 90 spots."""
    rows = [bytearray([255] * WIDTH) for _ in range(HEIGHT)]
    for at in (_ORIGIN, _FRONT):
        rows[HEIGHT - at][4:76] = bytes(72)
    for x, y, _ in _SPOTS:
        for row in range(HEIGHT - y - 3, HEIGHT - y + 3):
            rows[row][x - 3 : x + 3] = bytes([90] * 6)
    parts = (
        (b"IHDR", struct.pack(">IIBBBBB", WIDTH, HEIGHT, 8, 0, 0, 0, 0)),
        (b"IDAT", zlib.compress(b"".join(b"\0" + bytes(row) for row in rows), 9)),
        (b"IEND", b""),
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in parts
    )


def _pdf() -> bytes:
    """One page of the sheet's size, in points of 1/72 inch."""
    point = 72 / 25.4
    steps = [f"{point:.6f} 0 0 {point:.6f} 0 0 cm 0.4 w"]
    steps += [f"4 {at} m 76 {at} l S" for at in (_ORIGIN, _FRONT)]
    steps += [f"0.35 g {x - 3} {y - 3} 6 6 re f" for x, y, _ in _SPOTS]
    content = " ".join(steps).encode()
    box = f"[0 0 {WIDTH * point:.2f} {HEIGHT * point:.2f}]"
    objects = (
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>",
        f"<< /Type /Page /Parent 2 0 R /MediaBox {box} /Contents 4 0 R /Resources << >> >>".encode(),
        b"<< /Length %d >>\nstream\n%b\nendstream" % (len(content), content),
    )
    out, places = b"%PDF-1.4\n", []
    for number, content in enumerate(objects, start=1):
        places.append(len(out))
        out += b"%d 0 obj\n%b\nendobj\n" % (number, content)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    head = b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    tail = b"trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, len(out))
    return out + head + table + tail
