"""Which format a file has: every format answers on the same sample, and the best answer wins if it is alone."""

from __future__ import annotations

import traceback
from collections.abc import Sequence
from dataclasses import dataclass

from lanewise.errors import AmbiguousFormat, UnknownFormat
from lanewise.hooks import ImportFormat, Recognition, Sample
from lanewise.plugins.names import one_line
from lanewise.plugins.patience import OutOfPatience, patience, within
from lanewise.plugins.records import Entry, PluginProblem
from lanewise.plugins.registry import Registry

_RANK = {"no": 0, "maybe": 1, "yes": 2}


@dataclass(frozen=True, slots=True)
class Answer:
    """What one format says about a file.

    Attributes
    ----------
    entry : Entry
        The format and who provides it.
    recognition : Recognition
        Its claim and the reason.
    failed : bool
        True where its recogniser raised or returned something else; this counts as *no*.
    """

    entry: Entry[ImportFormat]
    recognition: Recognition
    failed: bool = False

    def __str__(self) -> str:
        return f"{self.entry.full_name} ({self.entry.provider}): {self.recognition.claim}, {self.recognition.because}"


def ask(registry: Registry, sample: Sample) -> list[Answer]:
    """Ask every format about a file.

    Parameters
    ----------
    registry : Registry
        Whose formats are asked.
    sample : Sample
        The first part of the file.

    Returns
    -------
    list of Answer
        Best claims first, and by full name among equals. A recogniser that raises counts as *no*; the reason is
        kept, and said once as a warning. One that does not come back is not asked again.
    """
    answers = [_answer(registry, entry, sample) for entry in registry.formats.values()]
    return sorted(answers, key=lambda answer: -_RANK[answer.recognition.claim])


def _answer(registry: Registry, entry: Entry[ImportFormat], sample: Sample) -> Answer:
    suffix = next((ending for ending in entry.item.suffixes if sample.name.lower().endswith(ending)), "")
    if entry.item.recognise is None:
        if suffix:
            return Answer(entry, Recognition.maybe(f"its name ends in {suffix}"))
        return Answer(
            entry, Recognition.no(f"its name ends in none of {', '.join(entry.item.suffixes) or 'its endings'}")
        )
    if away := registry.given_up(entry.full_name):
        return Answer(entry, Recognition.no(away), failed=True)
    details, recognise = "", entry.item.recognise
    seconds = 0.0 if entry.provider.built_in else patience()
    try:
        said = within(seconds, lambda: recognise(sample))
        if isinstance(said, Recognition) and said.claim in _RANK and isinstance(said.because, str):
            return Answer(entry, said)
        reason = f"its recogniser returned {one_line(repr(said), 60)}, wanted a Recognition"
    except OutOfPatience as fault:
        reason = f"its recogniser {fault}, so it is not asked about files any more"
        registry.give_up(entry.full_name, reason)
    except Exception as fault:
        reason = f"its recogniser raised {one_line(f'{type(fault).__name__}: {fault}')}"
        details = traceback.format_exc()
    text = f"{entry.what} ({entry.provider}) counts as not fitting {sample.name!r}: {reason}"
    registry.report(PluginProblem(entry.provider, "recognise", reason, text, details), about=entry.full_name)
    return Answer(entry, Recognition.no(reason), failed=True)


def choose(registry: Registry, sample: Sample) -> list[Answer]:
    """Choose the format of a file.

    Returns
    -------
    list of Answer
        The one with the highest claim, and behind it the others that claim the file too.

    Raises
    ------
    UnknownFormat
        If no format claims the file.
    AmbiguousFormat
        If several have the same highest claim; nothing falls back on an order.
    """
    answers = ask(registry, sample)
    best = answers[0].recognition.claim if answers else "no"
    if best == "no":
        raise UnknownFormat(_nobody(registry, sample, answers))
    equal = [answer for answer in answers if answer.recognition.claim == best]
    if len(equal) > 1:
        lines = [f"  format={a.entry.full_name!r} ({a.entry.provider}): {a.recognition.because}" for a in equal]
        raise AmbiguousFormat(
            "\n".join(
                [
                    f"{len(equal)} formats could read {sample.name} equally well:",
                    *lines,
                    f"Nothing was read. Name one: read({sample.name!r}, format={equal[0].entry.full_name!r}).",
                ]
            )
        )
    return [answer for answer in answers if answer.recognition.claim != "no"]


def _nobody(registry: Registry, sample: Sample, answers: Sequence[Answer]) -> str:
    first = (sample.text or "").lstrip().split("\n", 1)[0].strip()
    seen = f"first line {one_line(first, 60)!r}" if first else f"starts {sample.head[:16]!r}"
    lines = [f"no import format recognises {sample.name} ({sample.size} bytes, {seen}):"]
    lines += [f"  {answer}" for answer in answers]
    away = [f"{p.title} ({p.state})" for p in registry.plugins if p.state != "ok"]
    if away:
        lines.append(f"Not in use, and so not asked: {'; '.join(away)}.")
    if answers:
        lines.append(f"If you know what it is, name it: read({sample.name!r}, format={answers[0].entry.name!r}).")
    return "\n".join(lines)


def named(registry: Registry, name: str, sample: Sample) -> Answer:
    """Give the format that was asked for by name, with what it says about the file itself.

    The format is obeyed whatever it says: a *no* becomes a remark in the provenance.

    Raises
    ------
    FormatError
        If there is no such format.
    """
    return _answer(registry, registry.format(name), sample)
