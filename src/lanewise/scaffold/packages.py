"""A plugin package, filled in from templates."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources
from importlib.metadata import metadata
from os import PathLike
from pathlib import Path
from string import Template
from typing import TYPE_CHECKING, Literal, TypeAlias, get_args

from lanewise.errors import LanewiseError
from lanewise.plugins.registry import Registry, default_registry
from lanewise.scaffold.folders import write_folder
from lanewise.scaffold.names import Names, check_name

if TYPE_CHECKING:
    from importlib.resources.abc import Traversable

Kind: TypeAlias = Literal["import-format", "report-style"]

_ENDING = ".template"
_PLACES = {"module.py": "{module}.py", "test_contract.py": "tests/test_contract.py"}
"""Where files go whose templates are named otherwise."""


def new_plugin(
    name: str, kind: Kind, folder: str | PathLike[str] | None = None, *, registry: Registry | None = None
) -> list[Path]:
    """Write a small plugin package: it installs, and passes its own tests, before a line of it is changed.

    Parameters
    ----------
    name : str
        Name of the distribution: lower-case ASCII words joined by hyphens. The module has underscores in their place;
        format or style and entry point are named without a leading ``lanewise-``.
    kind : {"import-format", "report-style"}
        What the plugin offers.
    folder : str or path-like, optional
        The folder of the package, new or empty; by default one of that name in the working folder.
    registry : Registry, optional
        Where names in use are looked for; the one of this process if left out.

    Returns
    -------
    list of pathlib.Path
        What was written.

    Raises
    ------
    LanewiseError
        If the name is not valid or in use, the kind is unknown, or the folder cannot be written; nothing is written
        then.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as place:
    ...     [path.name for path in new_plugin("ink-sheet", "import-format", Path(place) / "ink-sheet")]
    ['README.md', 'ink_sheet.py', 'pyproject.toml', 'sample.txt', 'test_contract.py']
    """
    if kind not in get_args(Kind):
        wanted = " or ".join(map(repr, get_args(Kind)))
        raise LanewiseError(f"kind of the plugin: wanted {wanted}, given {kind!r}.")
    names = check_name(name, registry or default_registry())
    return write_folder(package_files(names, kind), Path(name if folder is None else folder))


def package_files(names: Names, kind: Kind) -> dict[str, str]:
    """Fill in the templates of one kind.

    Parameters
    ----------
    names : Names
        The names in the plugin.
    kind : {"import-format", "report-style"}
        What it offers.

    Returns
    -------
    dict of str to str
        Texts by their place in the package, in alphabetical order.

    Examples
    --------
    >>> sorted(package_files(Names.of("ink-sheet"), "report-style"))
    ['README.md', 'ink_sheet.py', 'pyproject.toml', 'tests/test_contract.py']
    """
    own = metadata("lanewise")
    values = {
        "distribution": names.distribution,
        "module": names.module,
        "offer": names.offer,
        "title": names.title,
        "kind": kind.replace("-", " "),
        "bounds": bounds(own["Version"]),
        "python": own["Requires-Python"],
    }
    made = {}
    for template in _templates(kind):
        place = template.name.removesuffix(_ENDING)
        place = _PLACES.get(place, place).format(module=names.module)
        made[place] = Template(template.read_text(encoding="utf-8")).substitute(values)
    return dict(sorted(made.items()))


def bounds(version: str) -> str:
    """Give the versions of the library that a plugin written today may ask for.

    Parameters
    ----------
    version : str
        Version of the library.

    Returns
    -------
    str
        From this one to the next that may break a plugin: the next minor version before 1.0, then the next major one.

    Examples
    --------
    >>> bounds("0.1.3"), bounds("2.4.0")
    ('>=0.1,<0.2', '>=2.4,<3')
    """
    major, minor = (int(part) for part in version.split(".")[:2])
    return f">={major}.{minor},<{f'0.{minor + 1}' if major == 0 else major + 1}"


def _templates(kind: Kind) -> Iterator[Traversable]:
    folder = resources.files(__package__) / "templates"
    for place in (folder, folder / kind):
        yield from (file for file in place.iterdir() if file.name.endswith(_ENDING))
