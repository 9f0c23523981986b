"""Run with ``python -m lanewise_photo``: a picture of what was read, and a page to review it."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from dataclasses import Field, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from lanewise.errors import LanewiseError, OptionError
from lanewise_photo.plugin import PhotographOptions

if TYPE_CHECKING:
    from lanewise_photo.settings import Settings


def main(arguments: Sequence[str] | None = None) -> int:
    """Write an overlay picture or a review page, and say what was done.

    Parameters
    ----------
    arguments : sequence of str or None
        As on the command line; None for those of the process.

    Returns
    -------
    int
        0; 1 where an overlay cannot be drawn because the picture was refused, or where an option does not fit. A
        refused picture still gets its review page.
    """
    given = _parser().parse_args(arguments)
    try:
        return _overlay(given) if given.what == "overlay" else _review(given)
    except (LanewiseError, OSError) as why:
        said = f"{why.strerror}: {why.filename}" if isinstance(why, OSError) and why.strerror else str(why)
        name = str(given.picture)
        sys.stderr.write(f"{said}\n" if name in said else f"{name}: {said}\n")
        return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m lanewise_photo", description=__doc__)
    commands = parser.add_subparsers(dest="what", required=True, metavar="overlay|review")
    helps = {
        "overlay": "write an SVG picture that shows what was read over the photograph",
        "review": "write an HTML page on which marks are corrected, or all set by hand; open it in a browser",
    }
    for name, text in helps.items():
        command = commands.add_parser(name, help=text, description=f"{text[0].upper()}{text[1:]}.")
        command.add_argument("picture", type=Path, help="the photograph or scan, which is not changed")
        command.add_argument(
            "--out", type=Path, metavar="FILE", help="the file to write; by default beside the picture"
        )
        for one in fields(PhotographOptions):
            _add_option(command, one)
    commands.choices["overlay"].add_argument("--link", action="store_true", help="link to the picture, do not embed it")
    commands.choices["review"].add_argument("--by-hand", action="store_true", help="read nothing; all is set by hand")
    return parser


def _add_option(command: argparse.ArgumentParser, one: Field[Any]) -> None:
    """Offer an option of the format under its own name."""
    said = one.metadata
    kind: Any = int if one.name == "lanes" else float if one.default is None else type(one.default)
    low, high = said["minimum"], said["maximum"]

    def within(text: str) -> Any:
        value = kind(text)
        if (low is not None and not value >= low) or (high is not None and not value <= high):
            limits = " and ".join(
                f"{word} {limit:g}" for word, limit in (("at least", low), ("at most", high)) if limit
            )
            raise argparse.ArgumentTypeError(f"wanted {limits or 'no less than 0'}, given {text}")
        return value

    within.__name__ = {int: "whole number", float: "number"}.get(kind, "text")  # argparse names it in its errors
    command.add_argument(
        f"--{one.name.replace('_', '-')}",
        default=one.default,
        type=within,
        choices=[choice for choice in said["choices"] if choice] or None,
        metavar=None if said["choices"] else (said["unit"] or one.name).upper(),
        help=said["help"],
    )


def _options(given: argparse.Namespace) -> PhotographOptions:
    return PhotographOptions(**{one.name: getattr(given, one.name) for one in fields(PhotographOptions)})


def _settings(given: argparse.Namespace) -> Settings:
    from lanewise_photo.planned import plan_of, settings_with
    from lanewise_photo.settings import settings_of

    options = _options(given)
    return settings_with(settings_of(options), plan_of(options.plan))


def _overlay(given: argparse.Namespace) -> int:
    from lanewise_photo.by_hand import corrections_of, read_corrected
    from lanewise_photo.overlay import draw_overlay

    out = _out(given, ".overlay.svg")
    data, settings = given.picture.read_bytes(), _settings(given)
    reading = read_corrected(data, given.picture.name, settings, corrections_of(settings.corrections))
    link = Path(os.path.relpath(given.picture, out.parent)).as_posix() if given.link else ""
    _write(out, draw_overlay(reading, data, link=quote(link)))
    sys.stdout.write(f"{out}\n")
    return 0


def _review(given: argparse.Namespace) -> int:
    from lanewise_photo.by_hand import corrections_of, told_before
    from lanewise_photo.review import Tried, review_page, tried

    out = _out(given, ".review.html")
    data, settings = given.picture.read_bytes(), _settings(given)
    corrections = corrections_of(settings.corrections)
    by_hand = given.by_hand or any(one.kind == "by hand" for one in corrections.steps)
    found = Tried(None) if by_hand else tried(data, given.picture.name, told_before(settings, corrections))
    page = review_page(
        found.reading,
        data,
        name=given.picture.name,
        refused=found.refused,
        settings=settings,
        corrections=corrections,
        corners=found.corners,
    )
    _write(out, page)
    sys.stdout.write(f"{out} (refused as it is: {found.refused})\n" if found.refused else f"{out}\n")
    return 0


def _out(given: argparse.Namespace, ending: str) -> Path:
    """Where to write; never over the picture or the corrections."""
    out: Path = given.out or given.picture.with_suffix(ending)
    for kept in (
        given.picture,
        Path(given.corrections) if given.corrections and "\n" not in given.corrections else None,
    ):
        if kept is not None and _same(out, kept):
            raise OptionError(
                f"option 'out': wanted another file than {kept}, which would be written over; name a new one"
            )
    if not out.parent.is_dir():
        raise OptionError(f"option 'out': wanted a file in a folder that is there, given {out}; make the folder first")
    return out


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:  # one of them is not there
        return one.absolute() == other.absolute()


def _write(out: Path, content: bytes) -> None:
    """Write a file whole, or not at all."""
    made = out.with_name(f".{out.name}.{os.getpid()}.part")
    try:
        made.write_bytes(content)
        made.replace(out)
    finally:
        made.unlink(missing_ok=True)


if __name__ == "__main__":
    sys.exit(main())
