"""The page on the contract kit lists every check as the code has it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lanewise.testing import ImportFormatContract, ReportStyleContract

PAGE = Path(__file__).parents[2] / "docs" / "reference" / "testing.md"
CONTRACTS = [ImportFormatContract, ReportStyleContract]


def table(contract):
    """Write the table of the checks of a contract: sorted by name, with what each demands and what to do."""
    rows = [(f"`{name}`", made.demand, made.todo) for name, made in sorted(contract.checks().items())]
    lines = [("Check", "Demands", "What to do"), ("---",) * 3, *rows]
    return "\n".join("| " + " | ".join(cell.replace("|", r"\|") for cell in line) + " |" for line in lines)


def place(contract):
    return re.compile(rf"(<!-- checks: {contract.__name__} -->\n)(.*?)(<!-- end of checks -->)", re.DOTALL)


@pytest.mark.parametrize("contract", CONTRACTS)
def test_page_lists_every_check_as_the_code_has_it(contract):
    found = place(contract).search(PAGE.read_text(encoding="utf-8"))
    assert found[2].strip() == table(contract), "run: python docs/remake.py"


@pytest.mark.parametrize("contract", CONTRACTS)
def test_every_check_says_what_it_demands_and_what_to_do(contract):
    for name, made in contract.checks().items():
        assert made.demand.endswith("."), name
        assert made.todo.endswith("."), name
        assert made.demand[0].isupper() and made.todo[0].isupper(), name  # noqa: PT018
