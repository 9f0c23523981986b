"""A reader's module that sets a limit of the whole process when it is first imported."""

from __future__ import annotations

import csv

from zoo.sheet import read

csv.field_size_limit(10**8)

__all__ = ["read"]
