"""Checks of the recogniser: its own files, other people's files, any bytes, and time."""

from __future__ import annotations

import random
import time
from collections.abc import Iterator, Sequence
from typing import ClassVar

from lanewise.errors import AmbiguousFormat, UnknownFormat
from lanewise.hooks import ImportFormat, Recogniser, Recognition, Sample
from lanewise.plugins.choosing import choose
from lanewise.testing.contracts import Unmet, check, said, skip
from lanewise.testing.examples import Example
from lanewise.testing.foreign import foreign_files
from lanewise.testing.importing import Importing, sample_of
from lanewise.testing.isolation import isolated

HEAD = 64 * 1024
QUICK = 0.005  # time of the processor that a recogniser may take [s]


class Recognising(Importing):
    """What a format says about files that it is shown.

    Attributes
    ----------
    claims : sequence of str
        Names of those foreign files that are rightly of this format; see `lanewise.testing.foreign.foreign_files`.
    """

    claims: ClassVar[Sequence[str]] = ()

    @property
    def _recogniser(self) -> Recogniser:
        item = self._entry.item
        if not isinstance(item, ImportFormat) or item.recognise is None:
            skip("the format has no recogniser; it is found by its file endings")
        return item.recognise

    @check(
        "Let recognise() return Recognition.yes with the reason for files that bear the signature of the format.",
        after=("descriptor", "examples"),
    )
    def test_recognised(self) -> None:
        """Left to itself, the library takes each example for this format, also beside the built-in ones."""
        registry = isolated(self.plugin, built_in=True)
        for example in self._examples:
            try:
                best = choose(registry, sample_of(example.data, example.name))[0]
            except (AmbiguousFormat, UnknownFormat) as fault:
                raise Unmet(f"{example.name} to be taken for {self._name!r}", str(fault)) from None
            if best.entry.name != self._name:
                raise Unmet(f"{example.name} to be taken for {self._name!r}", str(best))
            because = best.recognition.because
            if not because.strip() or "\n" in because:
                raise Unmet("a reason in one line", repr(because))

    @check(
        "Say yes to the format's own signature only; a fitting ending alone is maybe. A foreign file that is rightly "
        "of this format goes into claims = (...).",
        after=("descriptor",),
    )
    def test_foreign(self) -> None:
        """Files of other kinds are not claimed: no to each, at most maybe where the ending fits."""
        recognise, item = self._recogniser, self._entry.item
        suffixes = item.suffixes if isinstance(item, ImportFormat) else ()
        for name, data in foreign_files().items():
            if name in self.claims:
                continue
            for shown in (name, *(f"{name}{suffix}" for suffix in suffixes)):
                said_of = recognise(sample_of(data, shown))
                if said_of.claim == "yes" or (said_of.claim == "maybe" and not shown.lower().endswith(suffixes)):
                    allowed = "no, or maybe" if shown.lower().endswith(suffixes) else "no"
                    raise Unmet(f"{allowed} to {shown}", f"{said_of.claim}, because {said_of.because!r}")

    @check(
        "Take nothing for granted: text may be None, empty, one long line, or full of U+FFFD. Return a Recognition.",
        after=("descriptor",),
    )
    def test_any_bytes(self) -> None:
        """The recogniser answers on any bytes, with a claim and a reason in one line."""
        recognise = self._recogniser
        for sample in self._odd_samples():
            about = f"{sample.size} bytes that begin {sample.head[:20]!r}"
            try:
                answer = recognise(sample)
            except (Exception, SystemExit) as fault:
                raise Unmet(f"an answer on {about}", said(fault)) from fault
            if not isinstance(answer, Recognition) or answer.claim not in ("no", "maybe", "yes"):
                raise Unmet(f"a Recognition on {about}", repr(answer)[:200])
            if not isinstance(answer.because, str) or not answer.because.strip() or "\n" in answer.because:
                raise Unmet(f"a reason in one line on {about}", repr(answer.because)[:200])

    def _odd_samples(self) -> Iterator[Sample]:
        rng = random.Random(1)
        own = [example.data for example in self._kept_examples()]
        odd = [b"", b"\0", b"\n", b"\xff\xfe", b"\xef\xbb\xbf", b"\0" * HEAD, b"\n" * HEAD, b"a" * HEAD]
        odd += [bytes(rng.randrange(256) for _ in range(length)) for length in (1, 7, 300, HEAD)]
        odd += [bytes(rng.choice(b"ab,;\t\n\"'{}<>:= 019") for _ in range(4096)) for _ in range(8)]
        odd += [data[: len(data) * part // 8] for data in own for part in range(1, 8)]
        odd += [data.decode("latin-1").encode("utf-16") for data in own]
        for data in (*odd, *own, *foreign_files().values()):
            yield sample_of(data, "file")
            yield Sample("FILE.TXT", data[:HEAD], len(data), None)

    def _kept_examples(self) -> list[Example]:
        try:
            return self._examples
        except Exception:
            return []

    @check(
        "Look at the first lines only, with plain text methods: a regular expression with nested repeats can take "
        "for ever.",
        after=("descriptor",),
    )
    def test_recogniser_speed(self) -> None:
        """The recogniser takes less than 5 ms of processor time on any 64 KiB."""
        recognise = self._recogniser
        own = [(example.data * (1 + HEAD // max(1, len(example.data))))[:HEAD] for example in self._kept_examples()]
        units = (b"a", b"1", b" ", b",", b"\n", b"a ", b"1,", b"lane,", b"0.5\t", b'"', b"{", b"<a ", b"abc\r\n")
        for data in (*own, *(unit * (HEAD // len(unit)) for unit in units)):
            sample = sample_of(data, "file.txt")
            took = min(_taken(recognise, sample) for _ in range(2))
            took = took if took < QUICK else min(took, *(_taken(recognise, sample) for _ in range(3)))
            if took >= QUICK:
                raise Unmet(f"less than {QUICK * 1000:g} ms on {data[:20]!r}...", f"{took * 1000:.1f} ms")


def _taken(recognise: Recogniser, sample: Sample) -> float:
    begin = time.thread_time()
    recognise(sample)
    return time.thread_time() - begin
