"""Answers about a tool number that a later revision carried on, and whether they still hold.

An answer holds as long as the program does the same with the tool, in each way in which a machine
reads it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from assemblies.actions.comparing import figures_of
from assemblies.actions.readings import is_current, read_missing, reading_of
from assemblies.models import (
    STANDARD_KEY,
    Machine,
    ProgramRevision,
    Reading,
)
from assemblies.rules.nc.reading import ProgramReading
from assemblies.rules.program_changes import ToolComparison, compare, in_few_words
from crib.rules.finding import Level
from crib.rules.refusal import Refused

_REASONS_LIMIT = 200


def in_one_line(reasons: list[str]) -> str:
    """The reasons in one line; those that find no room are counted."""
    kept = list(reasons)
    while len(text := _line_of(kept, len(reasons))) > _REASONS_LIMIT and len(kept) > 1:
        kept.pop()
    return text[:_REASONS_LIMIT]


def _line_of(kept: list[str], total: int) -> str:
    more = total - len(kept)
    return ", ".join(kept) + (f", {more} more" if more else "")


@dataclass(frozen=True)
class Changes:
    """What weighs between two revisions, by tool number, in some ways of reading."""

    found: dict[int, list[str]]
    #: Ways in which one of the two was not read by today's reader: nothing can be compared.
    not_read: list[str]

    def of(self, tool_number: int) -> list[str]:
        return [*self.not_read, *self.found.get(tool_number, [])]

    @classmethod
    def between(
        cls, before: ProgramRevision, after: ProgramRevision, ways: Iterable[str]
    ) -> Changes:
        old, new = (_current_readings(revision) for revision in (before, after))
        found: dict[int, list[str]] = {}
        not_read: list[str] = []
        for key in ways:
            if key in old and key in new:
                _add_changes(found, before, old[key], new[key])
            else:
                missing = after if key in old else before
                not_read.append(f"revision {missing.label} was not read the way a machine reads")
        return cls(found, list(dict.fromkeys(not_read)))


def ways_that_count() -> list[str]:
    """Ways in which a machine of the shop reads; the standard one where there is no machine.

    No spindle goes by a way that no machine has, so a doubt there holds nobody up.
    """
    keys = {machine.reader_settings().key for machine in Machine.objects.all()}
    return sorted(keys) or [STANDARD_KEY]


def _current_readings(revision: ProgramRevision) -> dict[str, Reading]:
    rows = revision.readings.prefetch_related("tool_uses")
    return {row.settings_key: row for row in rows if is_current(row)}


_DOUBT = "not all of it was understood"


def _add_changes(
    found: dict[int, list[str]], before: ProgramRevision, old: Reading, new: Reading
) -> None:
    """Add what weighs, told once however many ways show it."""
    doubted = _doubted(old) | _doubted(new)
    for tool in compare(figures_of(old), figures_of(new)):
        texts = _texts(tool, before)
        if not doubted.isdisjoint({None, tool.tool_number}):
            texts.append(_DOUBT)
        told = found.setdefault(tool.tool_number, [])
        told += [text for text in texts if text not in told]


def _texts(tool: ToolComparison, before: ProgramRevision) -> list[str]:
    """What weighs about one tool, in words."""
    if tool.status == "added":
        return [f"revision {before.label} did not call it"]
    if tool.status == "gone":
        return ["no longer called on every machine"]
    weighty = [change for change in tool.changes if change.weighs]
    left_open = [change for change in weighty if change.is_open]
    texts = [change.text for change in weighty if not change.is_open]
    return [*texts, in_few_words(left_open)] if left_open else texts


def _doubted(reading: Reading) -> set[int | None]:
    """Tool numbers of which something was not understood; None: it may be any of them."""
    unknown = str(Level.UNKNOWN)
    return {note["tool_number"] for note in reading.notes if note["severity"] == unknown}


# ---- in the way of a machine that came later
def read_origins(
    revision: ProgramRevision, machine: Machine
) -> dict[int, dict[str, ProgramReading]]:
    """The revisions from which answers were carried on, read the way `machine` reads, by key.

    Writes nothing; left out is what was read that way before, or cannot be.
    """
    made = {}
    for origin in _origins(revision).values():
        try:
            made[origin.pk] = read_missing(origin, machine)
        except Refused:
            continue
    return {pk: made[pk] for pk in sorted(made) if made[pk]}


def carried_otherwise(revision: ProgramRevision, machine: Machine) -> dict[int, str]:
    """Tool numbers called on `machine` whose answer was carried on from what it reads otherwise.

    When the answer was carried on the two revisions were compared in the ways of that day.
    """
    reading, key = reading_of(revision, machine), machine.reader_settings().key
    called = set(reading.tool_uses.values_list("tool_number", flat=True)) if reading else set()
    found: dict[int, str] = {}
    for origin in _origins(revision).values():
        changes = Changes.between(origin, revision, [key])
        rows = _carried(revision).filter(carried_from__revision=origin)
        for tool_number in rows.values_list("tool_number", flat=True):
            reasons = changes.of(tool_number)
            if reasons and tool_number in called:
                found[tool_number] = in_one_line(reasons)
    return found


def _carried(revision: ProgramRevision):
    return revision.requirements.filter(carried_from__isnull=False).order_by("tool_number")


def _origins(revision: ProgramRevision) -> dict[int, ProgramRevision]:
    pks = _carried(revision).order_by().values("carried_from__revision")
    return {row.pk: row for row in ProgramRevision.objects.defer("content").filter(pk__in=pks)}


def ask_again(revision: ProgramRevision, tool_number: int, reason: str) -> None:
    """Take back an answer that was carried on to a held revision; its figures stay proposed."""
    _carried(revision).filter(tool_number=tool_number).update(
        confirmed_by=None,
        confirmed_at=None,
        carried_from=None,
        asked_again_because=reason[:_REASONS_LIMIT],
    )
