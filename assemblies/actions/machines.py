"""Machines: adding one and changing its recorded limits."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from django.core.exceptions import ValidationError

from assemblies.actions.approvals import (
    read_anew,
    standing_on,
    whole_reading_of,
    withdraw_where_read_otherwise,
)
from assemblies.actions.proposals import propose
from assemblies.actions.readings import (
    held,
    is_current,
    read_missing,
    reading_of,
)
from assemblies.models import Machine, ProgramRevision
from assemblies.rules.m_codes import NotMCodes, read_m_codes, show_m_codes
from assemblies.rules.nc.reading import ProgramReading
from crib.actions.once import Done, do_once, require
from crib.models import Act, Person
from crib.reference import tapers
from crib.rules.keys import key_of
from crib.rules.refusal import Refused
from crib.rules.units import show_mm

#: So much text is read anew with one form [bytes]; what is beyond stays unread and is said.
MOST_READ_AT_ONCE = 48_000_000
#: Farther back and forth between two pecks is a slip of the keyboard [um].
LARGEST_BACK_OFF_UM = 10_000


@dataclass
class _ReadAnew:
    """The approved programs read in a machine's new way, and how many could not be."""

    made: dict[int, dict[str, ProgramReading]]
    left: int = 0


def save_machine(*, by: Person, submission: UUID, machine: Machine) -> Done:
    """Add or change a machine. Its interface has to be one of the table of spindle tapers.

    Where its control now reads programs in another way, those approved on it are read that way:
    what such a reading says is what counts from then on. One that reads otherwise than before is no
    longer approved here, because nobody who approved it saw that.
    """
    require(by, "machine.edit")
    _check(machine)
    # Before the records are held: long files take a while, and nobody else could write.
    anew = _read_anew(machine)

    def work(act):
        _check_valid(machine)
        # Revisions first, then the machine: whoever approves holds them in the same order.
        withdrawn = _take_over_readings(act, machine, anew)
        machine.save()
        act.about = f"machine {machine.mark}"
        act.details = {"settings": machine.reader_settings().key}
        if anew.made or anew.left or withdrawn:
            act.details |= {"read": len(anew.made), "left": anew.left, "withdrawn": withdrawn}
        return machine.mark

    return do_once(
        submission=submission, kind="machine.save", by=by, needs="machine.edit", work=work
    )


def saved_in_words(submission: UUID) -> str:
    """What a page says after saving: how many programs were read anew, and how many were not."""
    act = Act.objects.filter(pk=submission, kind="machine.save").first()
    details = act.details if act else {}
    words = ["Machine saved."]
    if details.get("read"):
        words.append(f"{_programs(details['read'])} approved here read anew.")
    if details.get("left"):
        words.append(
            f"{_programs(details['left'])} not read yet: open each and read it again. "
            "Until then the check at the spindle cannot tell."
        )
    if details.get("withdrawn"):
        words.append(
            f"{_programs(details['withdrawn'])} no longer approved here: look at what is read now."
        )
    return " ".join(words)


def _programs(count: int) -> str:
    return f"{count} program" if count == 1 else f"{count} programs"


def _read_anew(machine: Machine) -> _ReadAnew:
    """The revisions approved on a machine whose way of reading changes, read in the new way."""
    anew = _ReadAnew({})
    if machine.pk is None or not _reads_in_another_way(machine):
        return anew
    bytes_left = MOST_READ_AT_ONCE
    for revision in ProgramRevision.objects.filter(pk__in=standing_on(machine)).defer("content"):
        if revision.size_bytes > bytes_left:
            anew.left += not is_current(reading_of(revision, machine))
            continue
        try:
            made = read_missing(revision, machine)
        except Refused:
            # One file that cannot be read this way is no reason to keep the machine as it was.
            anew.left += 1
            continue
        if made:
            anew.made[revision.pk] = made
            bytes_left -= revision.size_bytes
    return anew


def _reads_in_another_way(machine: Machine) -> bool:
    stored = Machine.objects.filter(pk=machine.pk).first()
    return stored is not None and stored.reader_settings().key != machine.reader_settings().key


def _take_over_readings(act: Act, machine: Machine, anew: _ReadAnew) -> int:
    """Keep what was read anew; how many programs lose their approval on this machine by it."""
    if machine.pk is None or not _reads_in_another_way(machine):
        return 0
    stored = Machine.objects.get(pk=machine.pk)
    withdrawn = 0
    for pk in standing_on(machine):
        revision = held(ProgramRevision(pk=pk))
        before = whole_reading_of(revision, stored)
        if pk in anew.made:
            read_anew(act, revision, anew.made[pk])
            propose(revision, anew.made[pk])
        withdrawn += withdraw_where_read_otherwise(act, revision, machine, before)
    return withdrawn


def _check(machine: Machine) -> None:
    _check_interface(machine)
    _check_mark(machine.mark)
    _check_reading(machine)
    if not machine.uses_stud:
        machine.stud_pattern = ""
    machine.mark_key = key_of(machine.mark)


def _check_valid(machine: Machine) -> None:
    try:
        machine.full_clean()
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        raise Refused(
            "machine.not_valid", " ".join(messages), field="" if field == "__all__" else field
        ) from error


def _check_reading(machine: Machine) -> None:
    """The settings of its control: codes that may be passed over, and a small way back."""
    try:
        machine.harmless_m_codes = show_m_codes(read_m_codes(machine.harmless_m_codes))
    except NotMCodes as error:
        raise Refused("machine.m_codes", str(error), field="harmless_m_codes") from error
    if not 0 <= (machine.peck_back_off_um or 0) <= LARGEST_BACK_OFF_UM:
        raise Refused(
            "machine.back_off",
            f"A way back of {show_mm(machine.peck_back_off_um)} mm is more than "
            f"{show_mm(LARGEST_BACK_OFF_UM)} mm.",
            "Look at the decimal point.",
            field="peck_back_off_um",
        )


def _check_mark(mark: str) -> None:
    """A mark is part of an address: one that makes none would take the list of machines along."""
    no_step = {".", ".."} | ({""} if "/" in mark else set())
    steps_away = any(part.strip() in no_step for part in mark.split("/"))
    if not mark.isprintable() or steps_away:
        raise Refused(
            "machine.mark_signs",
            f"“{mark}” cannot be a mark.",
            "Use letters and digits; no line break, and no dot or stroke alone.",
            field="mark",
        )


def _check_interface(machine: Machine) -> None:
    if machine.interface not in {row.code for row in tapers()}:
        raise Refused(
            "machine.interface",
            f"“{machine.interface}” is not in the table of spindle tapers.",
            "Pick one of the table, by the standard named on the machine.",
            field="interface",
        )
