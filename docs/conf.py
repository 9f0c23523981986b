"""How Sphinx builds these pages; warnings are errors there: ``sphinx-build -W -b html docs docs/_build/html``."""

from __future__ import annotations

import re
from importlib import metadata
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sphinx.application import Sphinx

project = "lanewise"
author = "The lanewise developers"
release = metadata.version("lanewise")
language = "en_GB"

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
exclude_patterns = ["_build", "changelog.d", "**/_*.md"]
myst_heading_anchors = 3

default_role = "py:obj"
add_module_names = False
python_maximum_signature_line_length = 88
autodoc_typehints = "none"  # types stand in the docstrings, in words
autodoc_preserve_defaults = True
napoleon_google_docstring = False
napoleon_use_ivar = True
napoleon_use_rtype = False
napoleon_custom_sections = [("Attributes", "params_style")]

html_theme = "furo"
html_title = f"lanewise {release}"
html_copy_source = False
html_show_copyright = False
html_show_sphinx = False
html_static_path = ["_static"]
html_css_files = ["pages.css"]

FRAGMENTS = Path(__file__).parent / "changelog.d"
KINDS = {
    "added": "Added",
    "changed": "Changed",
    "fixed": "Fixed",
    "removed": "Removed",
    "plugins": "For plugin authors",
}


def _gather_changes(app: Sphinx, docname: str, source: list[str]) -> None:
    """Put the fragments of ``changelog.d`` into the changelog page, kind by kind."""
    if docname != "changelog":
        return
    parts = []
    for kind, title in KINDS.items():
        texts = [path.read_text(encoding="utf-8").strip() for path in sorted(FRAGMENTS.glob(f"*.{kind}.md"))]
        parts += [f"### {title}", *texts] if texts else []
    source[0] = source[0].replace("<!-- fragments -->", "\n\n".join(parts))


def _plain_signature(
    app: Sphinx, what: str, name: str, thing: object, options: object, signature: str | None, returns: str | None
) -> tuple[str | None, str | None]:
    """Shorten defaults that are records or made anew each time; a protocol is not called at all."""
    if getattr(thing, "_is_protocol", False):
        return "", None
    if signature:
        signature = re.sub(r"=([A-Z]\w*)\([^()]*\)", r"=\1()", signature).replace("=<factory>", "={}")
    return signature, returns


def setup(app: Sphinx) -> None:
    app.connect("autodoc-process-signature", _plain_signature)
    app.connect("source-read", _gather_changes)
