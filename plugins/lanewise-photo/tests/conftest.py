"""Puts this folder where tests can import helpers from, and offers the fixtures of the tests in a browser."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from review_pages import browser, files, opened  # noqa: F401 (fixtures of all tests in a browser)
