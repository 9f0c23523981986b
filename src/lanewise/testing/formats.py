"""The contract of import formats."""

from __future__ import annotations

import base64
import os
import tempfile
from pathlib import Path
from typing import Any, ClassVar

from lanewise.testing import fresh
from lanewise.testing.contracts import Unmet, check, skip
from lanewise.testing.damaging import Damaging
from lanewise.testing.reading import Reading

ROWS = "LANEWISE_KIT_ROWS"
"""Environment variable that gives the large file fewer rows, for quick runs."""

LEAST_MEMORY = 150.0  # what is allowed at least where the rows were reduced [MB]
LEAST_TIME = 5.0  # [s]


class ImportFormatContract(Damaging, Reading):
    r"""What an import format has to keep; subclass it in the tests of a plugin.

    Attributes
    ----------
    plugin : module
        The module that the entry point names.
    format : str
        Short name of the format.
    not_applicable : mapping of str to str
        Checks that do not apply, by name without ``test_``, each with the reason.
    claims : sequence of str
        Names of those files of `lanewise.testing.foreign.foreign_files` that are rightly of this format.
    rows : int
        Rows of the large file of the check ``size``.
    memory_mb : float
        Memory that reading it may take beside the file itself. [MB]
    seconds : float
        Time that reading it may take. [s]
    mutations : int
        How many random changes of the examples the check ``fuzz`` tries.
    small_seconds : float
        Time that one small file may take, whatever is wrong with it; more than a second where reading is measuring, as
        with pictures. [s]

    Examples
    --------
    >>> from lanewise.formats import builtin
    >>> from lanewise.testing import Example
    >>> class TestMarksTable(ImportFormatContract):
    ...     plugin = builtin
    ...     format = "marks-table"
    ...     def examples(self):
    ...         text = b"lane,front_mm,centre_mm\nA,85,32.5\n"
    ...         return [Example("inks.csv", text, {"lane": ["A"], "front_mm": [85.0], "centre_mm": [32.5]})]
    >>> TestMarksTable().test_examples()
    """

    rows: ClassVar[int] = 1_000_000
    memory_mb: ClassVar[float] = 900.0
    seconds: ClassVar[float] = 60.0

    def large(self, rows: int) -> bytes:
        """Give a valid file with many rows; override it, or declare ``size`` not applicable.

        Parameters
        ----------
        rows : int
            How many; `rows` of the class, unless the environment asks for fewer.

        Returns
        -------
        bytes
            The file. Making it is not measured.
        """
        raise NotImplementedError("override large(rows)")

    @check(
        "Keep one list a column and no record a row; do not hold the text, its lines and its cells at once.",
        after=("descriptor", "examples"),
    )
    def test_size(self) -> None:
        """A large file is read within the memory and the time that the author states."""
        rows = min(self.rows, int(os.environ.get(ROWS, self.rows)))
        share = rows / self.rows
        memory = self.memory_mb if share >= 1 else max(LEAST_MEMORY, self.memory_mb * share)
        seconds = self.seconds if share >= 1 else max(LEAST_TIME, self.seconds * share)
        try:
            data = self.large(rows)
        except NotImplementedError as fault:
            todo = f"{fault}, or declare 'size' not applicable and say why."
            raise Unmet(f"a file of {rows} rows", "none", todo) from None
        took = self._measured(data, seconds)
        if not took["rows"]:
            raise Unmet(f"a study of the file of {rows} rows", "an empty one")
        if took["megabytes"] > memory:
            raise Unmet(f"{rows} rows within {memory:.0f} MB", f"{took['megabytes']:.0f} MB")
        if took["seconds"] > seconds:
            raise Unmet(f"{rows} rows within {seconds:g} s", f"{took['seconds']:.1f} s")

    def _measured(self, data: bytes, seconds: float) -> dict[str, Any]:
        """Read a large file in a process of its own, so that nothing else is counted."""
        try:
            import resource  # noqa: F401
        except ImportError:
            skip("this system does not tell how much memory a process takes")
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / self._first.name
            path.write_bytes(data)
            task = {
                "do": "size",
                "offer": self._name,
                "options": dict(self._first.options),
                "path": str(path),
                "first": base64.b64encode(self._first.data).decode("ascii"),
                "first_name": self._first.name,
            }
            return fresh.ask(self.plugin, task, seconds=seconds * 2 + 30)
