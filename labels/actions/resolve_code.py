"""From an entry to the label row it stands for, or the plain reason why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from assemblies.rules.verdict.facts import CodeKind, FoundBy, LabelFacts
from crib.models import Person, UnknownCode
from labels.models import Label
from labels.rules.entry import read_entry


class Outcome(StrEnum):
    """What an entry turned out to be. Values are stable, for templates and tests."""

    FOUND = "found"
    NOT_A_CODE = "not_a_code"
    CHECK_FAILED = "check_failed"
    UNKNOWN = "unknown"
    NO_ASSEMBLY = "no_assembly"


@dataclass(frozen=True)
class Resolved:
    """The answer: a label row when found, else a sentence for people."""

    outcome: Outcome
    label: Label | None = None
    sentence: str = ""


_UNKNOWN_SENTENCE = "This code is not a label of this shop."


def resolve(entry: str, *, scanned: bool, by: Person | None) -> Resolved:
    """Look an entry up. Codes that lead nowhere are logged; no answer tells more than that."""
    read = read_entry(entry, scanned=scanned)
    if read.code is None:
        _log(entry, str(read.problem), by)
        return Resolved(Outcome(str(read.problem)), sentence=read.sentence)
    label = (
        Label.objects.select_related("build__assembly__contents__parent")
        .filter(code=read.code)
        .first()
    )
    if label is None:
        _log(entry, str(Outcome.UNKNOWN), by)
        return Resolved(Outcome.UNKNOWN, sentence=_UNKNOWN_SENTENCE)
    return Resolved(Outcome.FOUND, label=label)


def _log(entry: str, problem: str, by: Person | None) -> None:
    kept = entry.encode("utf-8", "replace").decode("utf-8").replace("\x00", "")[:80]
    UnknownCode.objects.create(entry=kept, problem=problem, by=by)


def label_facts(label: Label) -> LabelFacts:
    """What the printed label itself says, for the verdict."""
    return LabelFacts(
        found_by=FoundBy.LABEL,
        code_kind=CodeKind.ASSEMBLY,
        assembly_number=label.build.assembly.number,
        label_revision=label.build.revision,
        cancelled=label.cancelled_at is not None,
        cancelled_reason=label.cancel_reason,
    )
