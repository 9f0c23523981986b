"""Puts the zoo where its animals can be imported by name, in fresh processes too."""

from __future__ import annotations

import sys
from pathlib import Path

collect_ignore = ["zoo"]  # bad plugins, which are imported when their turn comes
sys.path.insert(0, str(Path(__file__).parent))
