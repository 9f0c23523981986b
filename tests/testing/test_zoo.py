"""Every check bites: each animal of the zoo is caught by the check meant for it, with words that say what to do."""

from __future__ import annotations

import inspect
import warnings
from importlib import import_module

import pytest
from zoo import Caught, keeper

from lanewise.testing import ImportFormatContract, ReportStyleContract, state

MODULES = (
    *("untitled", "unfindable", "heavy", "chatty", "alarmed", "busy", "fickle", "optioned", "recognisers"),
    *("greedy", "readers", "refusers", "meddlers", "lazy", "layouts"),
)
OWN = {
    "bad-json": keeper.NoJsonContract,
    "raw-tex": keeper.TexContract,
    **dict.fromkeys(("short-sheet", "asserting-sheet", "pondering-sheet"), keeper.FuzzedContract),
}


def module(name):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return import_module(f"zoo.{name}")


def contract_of(plugin, name, base=None, **own):
    """Make the contract of one format or style."""
    is_format = name.endswith("-sheet")
    usual = keeper.SheetContract if is_format else keeper.PageContract
    base = base or OWN.get(name, usual)
    return type(f"Test_{name}", (base,), {"plugin": plugin, "format" if is_format else "style": name, **own})


def animals():
    """Give each animal as its contract and what has to catch it."""
    for name in MODULES:
        plugin = module(name)
        for offer, caught in plugin.CAUGHT.items():
            yield pytest.param(contract_of(plugin, offer), caught, id=offer)
    good = module("good")
    reason = "Give the name of a check that is listed"
    for title, own, says in (
        ("misspelt", {"not_applicable": {"unitz": "there are none"}}, "Did you mean 'units'?"),
        ("reasonless", {"not_applicable": {"units": " "}}, "a reason why 'units' does not apply"),
        ("essential", {"not_applicable": {"examples": "no time"}}, "Keep this check"),
    ):
        yield pytest.param(contract_of(good, "good-sheet", **own), Caught("not_applicable", says), id=title)
    own = {"not_applicable": {"cells": ""}}
    yield pytest.param(contract_of(good, "good-page", **own), Caught("not_applicable", reason), id="reasonless page")
    yield pytest.param(
        contract_of(good, "good-sheet", keeper.RoundingContract), Caught("round_trip", "Write everything"), id="rounder"
    )
    without = {"examples": ImportFormatContract.examples}
    yield pytest.param(
        contract_of(good, "good-sheet", **without), Caught("examples", "override examples()"), id="no examples"
    )


@pytest.fixture(autouse=True)
def as_before():
    """Take back what an animal changes in this process."""
    held = state.snapshot()
    yield
    state.restore(held)


def outcomes(contract, folder):
    """Run every check of a contract by itself; give the messages of those that fail, and the names of those skipped."""
    failed, skipped = {}, set()
    for name in contract.checks():
        method = getattr(contract(), f"test_{name}")
        wanted = inspect.signature(method).parameters
        try:
            method(**({"tmp_path": folder / name} if "tmp_path" in wanted else {}))
        except pytest.skip.Exception:
            skipped.add(name)
        except AssertionError as error:
            failed[name] = str(error)
    return failed, skipped


@pytest.mark.parametrize(("contract", "caught"), list(animals()))
def test_animal_is_caught(contract, caught, tmp_path):
    failed, _ = outcomes(contract, tmp_path)
    assert caught.check in failed, f"caught by none but {sorted(failed)}"
    assert sorted(failed) == sorted({caught.check, *caught.also}), failed
    message = failed[caught.check]
    assert message.startswith(f"check {caught.check!r} of ")
    assert contract.checks()[caught.check].demand in message
    assert caught.says in message
    assert "\n  to do:  " in message


@pytest.mark.parametrize(
    "contract",
    [
        pytest.param(contract_of(module("good"), "good-sheet", keeper.WritingContract), id="sheet"),
        pytest.param(contract_of(module("good"), "good-page"), id="page"),
        pytest.param(contract_of(module("good"), "good-cells"), id="cells"),
    ],
)
def test_good_animal_passes_everything(contract, tmp_path):
    failed, skipped = outcomes(contract, tmp_path)
    assert failed == {}
    assert skipped <= {"formulas"}


@pytest.mark.parametrize("contract", [ImportFormatContract, ReportStyleContract])
def test_every_check_has_an_animal(contract):
    tried = {caught.check for one, caught in (param.values for param in animals()) if issubclass(one, contract)}
    assert set(contract.checks()) - tried == set()
