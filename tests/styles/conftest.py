"""The sample report and the readers, loaded by path, as tests are no package."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent


def load(name):
    """Import a helper that stands beside the tests, under a name of its own."""
    spec = importlib.util.spec_from_file_location(f"lanewise_styles_{name}", HERE / f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def sample():
    return load("sample")


@pytest.fixture(scope="session")
def readback():
    return load("readback")


@pytest.fixture
def report(sample):
    return sample.sample_report()
