"""The answers that may be given to a verdict: which forms, which reasons, which places."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import QueryDict

from assemblies.actions.loads import has_changer, names_pockets, place_for
from assemblies.actions.spindle import (
    ACCEPT_REASONS,
    ASKS_FOR_VALUES,
    MARK_DIFFERS,
    REFUSE_REASONS,
    Checked,
)
from assemblies.forms.spindle import DecisionForm, OverrideForm
from assemblies.models import Decision, Machine
from assemblies.rules.verdict.judge import Verdict, Word, may_accept
from crib.models import Person

SAME_AS_LAST = "same_as_last"
#: Reasons that answer one finding only; they are offered first, and only where it was found.
_ANSWERS = {
    "text_agrees": frozenset({"program.text_only"}),
    "here_now": frozenset({"control.seen_elsewhere"}),
    "values_entered": ASKS_FOR_VALUES,
}
#: What a form that was refused does not bring along again.
_ASKED_ANEW = frozenset({"submission", "decision", "seen", "seen_word", "pin", "shown_number"})


@dataclass(frozen=True, kw_only=True)
class Looker:
    """Who looks at the verdict, and what they sent when the server refused it."""

    person: Person
    sent: QueryDict | None = None
    #: Pockets of this machine that tools on the list for filling go to.
    promised: frozenset[int] = frozenset()

    @property
    def said_pocket(self) -> int | None:
        """The pocket that was named when the server refused."""
        said = (self.sent or {}).get("place", ""), (self.sent or {}).get("pocket", "")
        return next((int(text) for text in said if text.isascii() and text.isdigit()), None)

    @property
    def kept_mark(self) -> str:
        """What was said to stand on the holder when the server refused."""
        return (self.sent or {}).get("mark_there", "")

    @property
    def sent_override(self) -> bool:
        return self.sent is not None and "overrider" in self.sent

    def kept(self, decision: Decision, override: bool = False) -> dict:
        """What stands in the form that was sent, for the same form again."""
        if self.sent is None or self.sent.get("decision") != decision:
            return {}
        if self.sent_override != override:
            return {}
        return {name: value for name, value in self.sent.items() if name not in _ASKED_ANEW}


def decisions(looker: Looker, checked: Checked, same_as_last: bool) -> dict:
    """The forms this person may send on this verdict; none for somebody who only looks."""
    person, verdict = looker.person, checked.verdict
    if not person.may("check.decide"):
        return {"load": None, "refuse": None, "override": None, "differs": None}
    loadable = any(may_accept(verdict, role) for role in person.roles)
    return {
        "load": _form(checked, Decision.LOADED, looker) if loadable else None,
        "refuse": _form(checked, Decision.REFUSED, looker),
        "override": _override_form(checked, looker) if verdict.overridable else None,
        "differs": _form(checked, Decision.REFUSED, looker, "differs"),
        "accept_reasons": accept_reasons(verdict, same_as_last),
        "refuse_reasons": refuse_reasons(verdict),
        "mark_differs": MARK_DIFFERS,
    }


def _form(
    checked: Checked, decision: Decision, looker: Looker, name: str = "", form=DecisionForm
) -> DecisionForm:
    override = form is OverrideForm
    initial = looker.kept(decision, override) | {
        "decision": decision.value,
        "seen": checked.fingerprint,
        "seen_word": checked.word_key,
        "mark_agrees": bool(checked.verdict.holder_mark) and decision == Decision.LOADED,
    }
    return form(initial=initial, auto_id=f"{name or decision.value}_%s")


def _override_form(checked: Checked, looker: Looker) -> OverrideForm:
    return _form(checked, Decision.LOADED, looker, "override", OverrideForm)


def accept_reasons(verdict: Verdict, same_as_last: bool = False) -> dict[str, str]:
    """Reasons for loading all the same, those that answer a finding first; none on a MATCH."""
    if verdict.word == Word.MATCH:
        return {}
    found = {finding.code for finding in verdict.findings}
    answering = {key for key, codes in _ANSWERS.items() if codes & found}
    if same_as_last:
        answering.add(SAME_AS_LAST)
    always = ACCEPT_REASONS.keys() - _ANSWERS.keys() - {SAME_AS_LAST}
    order = sorted(ACCEPT_REASONS, key=lambda key: key not in answering)
    return {key: ACCEPT_REASONS[key] for key in order if key in answering | always}


def refuse_reasons(verdict: Verdict) -> dict[str, str]:
    """Reasons for refusing, the one that the stop itself gives first.

    Whether the mark on the holder differs is a question of its own, where there is one to compare.
    """
    label_stops = any(f.level.is_stop and f.code.startswith("label.") for f in verdict.findings)
    first = "label_wrong" if label_stops else "wrong_tool"
    known = {key: text for key, text in REFUSE_REASONS.items() if key != MARK_DIFFERS}
    return {first: known[first]} | known


@dataclass(frozen=True, kw_only=True)
class Places:
    """Where the tool goes: said by its T number, or asked for."""

    asked: bool = False
    #: The pocket that T names; None with `asked` False is the spindle.
    pocket: int | None = None
    next_free: int | None = None
    #: A changer is there, but T names no pocket of it.
    beside: bool = False


def places_are_asked(machine: Machine) -> bool:
    return has_changer(machine) and not names_pockets(machine)


def places(checked: Checked, machine: Machine, promised: frozenset[int] = frozenset()) -> Places:
    """Five numbers are never mixed: a pocket is asked for, unless T names it on this machine.

    A pocket that a scanned tool goes to (`promised`) is not offered as free.
    """
    if not places_are_asked(machine):
        pocket = place_for(machine, checked.verdict.tool_number, None)
        return Places(pocket=pocket, beside=pocket is None and has_changer(machine))
    taken = {load.pocket for load in checked.facts.control.loads or ()} | promised
    free = (pocket for pocket in range(1, machine.pockets + 1) if pocket not in taken)
    return Places(asked=True, next_free=next(free, None))
