"""At the spindle: which machine and program this screen is about, the verdict, the decision."""

from __future__ import annotations

from dataclasses import dataclass, replace
from hashlib import sha256
from uuid import UUID

from django.utils import timezone

from assemblies.actions.build import quarantine_in_act
from assemblies.actions.loads import place_for, put_in
from assemblies.actions.mark_differs import other_assembly, quarantine_both
from assemblies.actions.override import answering_for, check_overrider
from assemblies.actions.spindle_facts import gather_facts, with_entered_values
from assemblies.actions.spindle_history import is_same_as_last
from assemblies.models import (
    Assembly,
    AssemblyState,
    Decision,
    Load,
    Machine,
    ProgramRevision,
    SpindleCheck,
    Station,
)
from assemblies.rules.verdict.control_lines import length_is_touched_off, read_back
from assemblies.rules.verdict.facts import CheckFacts, LabelFacts
from assemblies.rules.verdict.judge import Verdict, Word, judge, may_accept
from assemblies.rules.verdict.neighbour_lines import neighbour_findings
from crib.actions.once import Done, do_once, require
from crib.models import Act, Person
from crib.rules.finding import Finding, Level, worst_first
from crib.rules.refusal import Refused

ACCEPT_REASONS = {
    "touched_off": "Touched off here",
    "measured_here": "Measured here",
    "text_agrees": "Text agrees",
    "same_as_last": "Same as last time",
    "agreed": "Agreed with programmer",
    "trial": "Trial in waste",
    "record_wrong": "Record is wrong, tool is right",
    "here_now": "It is here now",
    "values_entered": "Values entered at the control",
}
REFUSE_REASONS = {
    "wrong_tool": "Wrong tool",
    "dull": "Dull",
    "damaged": "Damaged",
    "label_wrong": "Label wrong",
    "mark_differs": "Mark on the holder differs",
    "runs_out": "Runs out",
    "slipped": "Slipped before",
    "other": "Other",
}
MARK_DIFFERS = "mark_differs"
#: Refusals after which nobody may load it before the toolroom has looked.
_QUARANTINING = frozenset({"damaged", "slipped"})

WORD_KEYS = {
    Word.MATCH: "match",
    Word.CHECK: "check",
    Word.STOP: "stop",
    Word.CANT_TELL: "cant_tell",
}


def choose_station(
    *, by: Person, session_key: str, machine: Machine, revision: ProgramRevision | None
) -> Station:
    """Remember machine and program for this signed-in session. Choosing again replaces."""
    require(by, "view")
    station, _ = Station.objects.update_or_create(
        session_key=session_key,
        defaults={"machine": machine, "revision": revision, "chosen_at": timezone.now()},
    )
    return station


@dataclass(frozen=True)
class Checked:
    """The facts of a scan and the verdict on them, together: one is worth nothing alone."""

    facts: CheckFacts
    verdict: Verdict

    @property
    def word_key(self) -> str:
        return WORD_KEYS[self.verdict.word]

    @property
    def fingerprint(self) -> str:
        """The same as long as the same answer is given about the same things.

        Machine, program, T, live revision, the values for the control, word and every point that
        is not in order count; "20 min ago" becoming "21 min ago" does not.
        """
        facts, verdict = self.facts, self.verdict
        points = [
            # How long ago it was seen elsewhere ticks on; everything else has to stand still.
            (f.code, None if f.code == "control.seen_elsewhere" else (f.text, f.measured, f.limit))
            for f in verdict.findings
            if f.level.weight >= Level.CHECK.weight
        ]
        about = (
            facts.machine.mark if facts.machine else None,
            (facts.program.name, facts.program.revision) if facts.program else None,
            verdict.tool_number,
            facts.assembly.number if facts.assembly else None,
            facts.assembly.revision if facts.assembly else None,
            (facts.assembly.gauge_length_um, facts.assembly.diameter_um) if facts.assembly else (),
            self.word_key,
            verdict.expected_text,
            sorted(points, key=repr),
        )
        return sha256(repr(about).encode()).hexdigest()[:24]


def check(
    *,
    assembly: Assembly,
    label: LabelFacts,
    machine: Machine | None,
    revision: ProgramRevision | None,
    tool_number: int | None = None,
    pocket: int | None = None,
    control_shows: int | None = None,
) -> Checked:
    """The verdict on one assembly here and now. Writes nothing.

    Without a chosen T number the verdict may find the one that is met; what the control was
    told for that T is then looked at too. `control_shows` is the number that was keyed before
    the scan.
    """
    facts = gather_facts(
        assembly=assembly,
        label=label,
        machine=machine,
        revision=revision,
        tool_number=tool_number,
        pocket=pocket,
    )
    verdict = judge(facts)
    if tool_number is not None:
        return Checked(facts, verdict)
    facts = replace(facts, tool_number=_asked_by_control(facts, verdict, control_shows))
    number = verdict.tool_number if facts.tool_number is None else facts.tool_number
    if number is not None:
        told = with_entered_values(facts.control, machine, number)
        facts = replace(facts, control=told)
        verdict = judge(facts)
    return Checked(facts, verdict)


def _asked_by_control(facts: CheckFacts, verdict: Verdict, control_shows: int | None) -> int | None:
    """The T number that a control asks for whose number was keyed first.

    A tool that meets one T keeps to that one: keyed otherwise, the difference is the stop.
    """
    if facts.program is None or len(verdict.meets) == 1:
        return None
    return control_shows


def with_mark(checked: Checked, agrees: bool | None) -> Checked:
    """The verdict with what an eye said of the mark on the holder."""
    if agrees is None:
        return checked
    facts = replace(checked.facts, label=replace(checked.facts.label, holder_mark_agrees=agrees))
    return Checked(facts, judge(facts))


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What the operator decided, and what they saw when they did.

    `seen_word` and `seen` (see `Checked.fingerprint`) are the verdict on their screen: when it
    changed since, they must look again. `keyed_first`: the number was keyed before the verdict
    was seen. `pocket` None is the spindle, or the pocket that T names. `overrider` answers for a
    soft stop with `pin`. `mark_there` is what the holder reads when it is not the mark on record.
    """

    decision: Decision
    reason: str = ""
    reason_text: str = ""
    shown_number: int | None = None
    keyed_first: bool = False
    pocket: int | None = None
    mark_agrees: bool | None = None
    mark_there: str = ""
    overrider: Person | None = None
    pin: str = ""
    seen_word: str = ""
    seen: str = ""
    label_code: str = ""

    @property
    def loads(self) -> bool:
        return self.decision == Decision.LOADED

    @property
    def mark_differs(self) -> bool:
        return self.decision == Decision.REFUSED and self.reason == MARK_DIFFERS


def record_decision(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    label: LabelFacts,
    machine: Machine,
    revision: ProgramRevision | None,
    tool_number: int | None,
    answer: Answer,
) -> Done:
    """Write what was decided at the spindle, judged again inside the same transaction."""
    require(by, "check.decide")
    if answer.loads:
        check_overrider(submission, answer.overrider, answer.pin)

    def work(act):
        if answer.decision not in Decision.values:
            raise Refused("check.decision", f"“{answer.decision}” is no decision.")
        held, other = _hold(assembly, answer)
        checked = check(
            assembly=held,
            label=label,
            machine=machine,
            revision=revision,
            tool_number=tool_number,
            control_shows=answer.shown_number if answer.keyed_first else None,
        )
        if not answer.mark_differs:
            _refuse_other_verdict(checked, answer)
        checked = with_mark(checked, False if answer.mark_differs else answer.mark_agrees)
        overrider = None
        if answer.loads:
            overrider = _check_loading(by, held, checked, machine, revision, answer)
            _refuse_no_room(checked, answer)
        else:
            _need_reason(answer.reason, REFUSE_REASONS, "Say why it is refused.")
        row = _write(act, held, checked, machine, revision, answer, overrider)
        if answer.loads:
            put_in(act=act, spindle_check=row, pocket=answer.pocket)
        act.about = f"assembly {held.number}"
        _quarantine_if_needed(act, held, other, answer)
        return row.pk

    done = do_once(
        submission=submission, kind="check.decide", by=by, needs="check.decide", work=work
    )
    if done.repeated:
        _refuse_other_answer(done, assembly, answer)
    return done


def _hold(assembly: Assembly, answer: Answer) -> tuple[Assembly, Assembly | None]:
    """Lock the scanned assembly, and the one that its holder belongs to when the mark differs."""
    other = other_assembly(assembly, answer.mark_there) if answer.mark_differs else None
    wanted = {row.pk for row in (assembly, other) if row is not None}
    rows = Assembly.objects.select_for_update(of=("self",)).select_related("contents")
    # In one order for everybody: two people may report the two halves of one swap.
    held = {row.pk: row for row in rows.filter(pk__in=wanted).order_by("pk")}
    return held[assembly.pk], held.get(other.pk) if other else None


def _refuse_other_answer(done: Done, assembly: Assembly, answer: Answer) -> None:
    """The same form with another answer was not done: whoever sent it must hear so."""
    row = SpindleCheck.objects.select_related("act", "machine").get(pk=int(done.result))
    said = (assembly.pk, answer.decision, answer.reason)
    if (row.assembly_id, row.decision, row.reason) == said and _is_same_answer(row, answer):
        return
    raise Refused(
        "check.answered",
        f"This form was answered already: {row.get_decision_display().lower()}.",
        "Scan the label again to decide anew.",
    )


def _is_same_answer(row: SpindleCheck, answer: Answer) -> bool:
    """Place, mark and who answers for it. The number is keyed anew each time and not held here."""
    if answer.mark_differs:
        return row.act.details["mark_there"] == answer.mark_there.strip()
    if not answer.loads:
        return True
    if row.overridden_by_id is not None and row.overridden_by != answer.overrider:
        return False
    pocket = place_for(row.machine, row.tool_number, answer.pocket)
    return Load.objects.filter(spindle_check=row, pocket=pocket).exists()


def _refuse_other_verdict(checked: Checked, answer: Answer) -> None:
    if answer.seen_word and answer.seen_word != checked.word_key:
        text = f"The verdict changed to {checked.verdict.word} meanwhile."
    elif answer.seen and answer.seen != checked.fingerprint:
        text = "The reasons of the verdict changed meanwhile."
    else:
        return
    raise Refused("check.changed", text, "Read it again, then decide.")


def _check_loading(
    by: Person,
    assembly: Assembly,
    checked: Checked,
    machine: Machine,
    revision: ProgramRevision | None,
    answer: Answer,
) -> Person | None:
    """Refuse what is not to be loaded; who answers for it when it is a soft stop."""
    verdict = checked.verdict
    overrider = answering_for(verdict, answer.overrider)
    if overrider is None and not any(may_accept(verdict, role) for role in by.roles):
        raise Refused(
            "check.not_acceptable",
            f"{verdict.word}: {verdict.reasons[0].text if verdict.reasons else ''}".strip(),
            "It is not to be loaded. Refuse it.",
            findings=verdict.reasons,
        )
    _compare_number(verdict, answer)
    if verdict.word != Word.MATCH or answer.reason:
        _need_reason(answer.reason, ACCEPT_REASONS, "Say why it is loaded all the same.")
    if answer.reason == "same_as_last":
        _need_same_as_last(assembly, verdict, machine, revision)
    return overrider


def _refuse_no_room(checked: Checked, answer: Answer) -> None:
    """Where the pocket is chosen with the decision, what it says of its neighbours was not seen."""
    if answer.pocket is None:
        return
    seen = {finding.code for finding in checked.verdict.findings}
    found = neighbour_findings(checked.facts, answer.pocket)
    told = [finding for finding in found if finding.code not in seen]
    if told:
        remedy = told[0].remedy
        raise Refused("check.no_room", told[0].text, remedy, field="pocket", findings=told)


def _compare_number(verdict: Verdict, answer: Answer) -> None:
    if verdict.tool_number is None:
        return
    told = read_back(verdict.tool_number, answer.shown_number)
    if told.level.is_stop or answer.shown_number is None:
        raise Refused(told.code, told.text, told.remedy, field="shown_number", findings=[told])


def _need_reason(reason: str, known: dict[str, str], text: str) -> None:
    if reason not in known:
        raise Refused("check.reason", text, "Tap one of the reasons.", field="reason")


def _need_same_as_last(
    assembly: Assembly, verdict: Verdict, machine: Machine, revision: ProgramRevision | None
) -> None:
    if is_same_as_last(assembly.current_build, machine, revision, verdict.tool_number):
        return
    text = f"{assembly} is not what was loaded here last under this T."
    raise Refused("check.not_the_last", text, "Tap another reason, or refuse it.", field="reason")


def _write(
    act: Act,
    assembly: Assembly,
    checked: Checked,
    machine: Machine,
    revision: ProgramRevision | None,
    answer: Answer,
    overrider: Person | None,
) -> SpindleCheck:
    facts, verdict = checked.facts, checked.verdict
    return SpindleCheck.objects.create(
        act=act,
        by_id=act.by_id,
        machine=machine,
        revision=revision,
        tool_number=verdict.tool_number,
        assembly=assembly,
        build=assembly.current_build,
        label_code=answer.label_code,
        found_by=facts.label.found_by,
        verdict=checked.word_key,
        fully_known=verdict.fully_known,
        findings=[finding.as_dict() for finding in verdict.findings],
        hard_stop=verdict.hard_stop,
        decision=answer.decision,
        reason=answer.reason,
        reason_text=answer.reason_text.strip()[:200],
        shown_number=answer.shown_number,
        keyed_first=answer.keyed_first and answer.shown_number is not None,
        overridden_by=overrider,
        **_entered(checked, answer),
    )


#: Findings that ask for values to be entered at the control before loading.
ASKS_FOR_VALUES = frozenset(
    {"control.values_changed", "control.values_not_said", "program.enter_diameter"}
)


def _entered(checked: Checked, answer: Answer) -> dict[str, int | None]:
    """What the control holds after this decision, as far as it was said; None: nobody said it.

    Asked to enter values and loaded for another reason, it may hold the old ones, the new ones or
    what was touched off: only a value that both have in common is known.
    """
    facts, verdict = checked.facts, checked.verdict
    told, assembly = facts.control, facts.assembly
    before = {
        "gauge_length_um": told.confirmed_length_um,
        "diameter_um": told.confirmed_diameter_um,
    }
    if not answer.loads:
        return before
    now = {"gauge_length_um": assembly.gauge_length_um, "diameter_um": assembly.diameter_um}
    if answer.reason == "touched_off" or length_is_touched_off(facts, verdict.tool_number):
        now["gauge_length_um"] = None
    asked = any(f.code in ASKS_FOR_VALUES for f in verdict.findings)
    if not asked or answer.reason == "values_entered":
        return now
    return {name: value if value == before[name] else None for name, value in now.items()}


def _quarantine_if_needed(
    act: Act, assembly: Assembly, other: Assembly | None, answer: Answer
) -> None:
    if answer.mark_differs:
        quarantine_both(act, assembly, other, answer.mark_there)
        return
    if answer.loads or answer.reason not in _QUARANTINING:
        return
    if assembly.state in (AssemblyState.RETIRED, AssemblyState.QUARANTINED):
        return
    quarantine_in_act(
        act=act, assembly=assembly, note=f"Refused at the spindle: {REFUSE_REASONS[answer.reason]}"
    )


def frozen_findings(row: SpindleCheck) -> list[Finding]:
    """The findings stored with a decision, worst first."""
    return worst_first(Finding.from_dict(data) for data in row.findings)
