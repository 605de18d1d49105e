"""One program revision: its tool numbers, stating and confirming them, its approvals."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assemblies.actions import approvals, requirements
from assemblies.actions.programs import read_again
from assemblies.actions.proposals import Proposal, last_loaded
from assemblies.forms.programs import (
    ApprovalForm,
    RequirementForm,
    TopOfStockForm,
    proposed_initial,
    requirement_initial,
)
from assemblies.models import (
    STANDARD_KEY,
    Machine,
    ProgramApproval,
    ProgramRevision,
    ToolRequirement,
    ToolUse,
)
from assemblies.models.machines import ZeroAt
from assemblies.tables.revision_tools import (
    ShownReading,
    Way,
    call_steps,
    figure_lines,
    notes_of,
    tally,
    tool_lines,
    total_time,
)
from crib.forms.submission import SubmissionForm
from crib.rules.keys import key_of
from crib.views.access import attempt, needs, tell
from crib.views.form_page import form_page, posted


@needs("view")
@require_safe
def program_revision(request: HttpRequest, pk: int) -> HttpResponse:
    return _revision_page(request, _revision(pk))


@dataclass(frozen=True)
class _RefusedForms:
    """Forms of the page that were sent and refused: shown again with their reasons."""

    approval: ApprovalForm | None = None
    top: TopOfStockForm | None = None
    reading: SubmissionForm | None = None


def _revision_page(
    request: HttpRequest, revision: ProgramRevision, refused: _RefusedForms | None = None
) -> HttpResponse:
    """All about one revision, as one kind of machine reads it."""
    lines = _approvals(revision)
    shown = _shown_reading(request, revision, lines)
    rows = list(_stated(revision))
    sent = refused or _RefusedForms()
    approval = sent.approval or ApprovalForm(initial=_only_machine(lines))
    approval.saw(approvals.stated_mark(revision, rows))
    top = {"top_of_stock_um": revision.top_of_stock_um}
    context = {
        "revision": revision,
        "program": revision.program,
        "others": _others(revision),
        "shown": shown,
        "reading": shown.reading,
        **_tools_and_calls(revision, shown, rows),
        "approvals": lines,
        "approved_on": _approved(lines),
        "form": approval,
        "top_form": sent.top or TopOfStockForm(initial=top),
        "read_again": sent.reading or (None if shown.is_current else SubmissionForm()),
        "may_confirm": request.user.may("program.confirm"),
        "may_approve": request.user.may("program.approve"),
        "may_add": request.user.may("program.add"),
        "may_build": request.user.may("assembly.build"),
    }
    status = 200 if refused is None else 422
    return render(request, "assemblies/program_revision.html", context, status=status)


# ---- as which machine reads it
def _shown_reading(
    request: HttpRequest, revision: ProgramRevision, lines: list[MachineApproval]
) -> ShownReading:
    machine = _machine_asked(request, lines)
    key = machine.reader_settings().key if machine else STANDARD_KEY
    ways = _ways([line.machine for line in lines])
    by_zero = (
        revision.top_of_stock_um is None and machine is not None and machine.zero_at == ZeroAt.TOP
    )
    return ShownReading(
        reading=revision.readings.filter(settings_key=key).first(),
        machine=machine,
        way=next(way for way in ways if way.key == key),
        ways=ways,
        top_um=0 if by_zero else revision.top_of_stock_um,
        top_by_zero=by_zero,
    )


def _machine_asked(request: HttpRequest, lines: list[MachineApproval]) -> Machine | None:
    """The machine named in the address, else the only one on which it stands approved."""
    asked = request.GET.get("machine")
    if asked is None:
        approved = [line.machine for line in lines if line.word == "approved"]
        return approved[0] if len(approved) == 1 else None
    if not asked:
        return None
    found = [line.machine for line in lines if line.machine.mark_key == key_of(asked)]
    if not found:
        raise Http404(f"No machine {asked[:12]}.")
    return found[0]


def _ways(machines: list[Machine]) -> list[Way]:
    """The standard way first, then each other one with the machines that have it."""
    ways = {STANDARD_KEY: Way(STANDARD_KEY)}
    for machine in machines:
        key = machine.reader_settings().key
        ways.setdefault(key, Way(key)).machines.append(machine)
    return list(ways.values())


@needs("program.add")
@require_POST
def program_read_again(request: HttpRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = SubmissionForm(request.POST)

    def act(data: dict):
        return read_again(by=request.user, revision=revision, **data)

    done = attempt(form, act)
    if done is None:
        return _revision_page(request, revision, _RefusedForms(reading=form))
    tell(request, done, f"{revision} was read again.")
    return redirect("assemblies:program_revision", pk=pk)


def _revision(pk: int) -> ProgramRevision:
    rows = ProgramRevision.objects.select_related("program", "added_by").defer("content")
    return get_object_or_404(rows, pk=pk)


@dataclass(frozen=True)
class OtherRevision:
    """Another revision of the program, and the two numbers of the page that compares them."""

    revision: ProgramRevision
    older: int
    newer: int


def _others(revision: ProgramRevision) -> list[OtherRevision]:
    rows = revision.program.revisions.defer("content").exclude(pk=revision.pk)
    return [OtherRevision(other, *_in_order_of_time(revision, other)) for other in rows]


def _in_order_of_time(one: ProgramRevision, other: ProgramRevision) -> tuple[int, int]:
    first, second = sorted((one, other), key=lambda row: (row.added_at, row.pk))
    return first.pk, second.pk


# ---- its tool numbers
def _stated(revision: ProgramRevision):
    rows = revision.requirements.select_related(
        "preferred", "confirmed_by", "carried_from__revision"
    )
    return rows.defer("carried_from__revision__content").prefetch_related("alternatives")


def _tools_and_calls(
    revision: ProgramRevision, shown: ShownReading, rows: list[ToolRequirement]
) -> dict:
    calls = list(shown.reading.tool_calls.all()) if shown.reading else []
    asked = requirements.asked_for(revision, rows)
    tools = tool_lines(shown, rows, calls, asked)
    notes, left_out = notes_of(shown.reading)
    return {
        "calls": call_steps(calls),
        "tools": tools,
        "tally": tally(tools),
        "asked": asked,
        "total_time": total_time(shown.reading, tools),
        "notes": notes,
        "notes_left_out": left_out,
    }


# ---- its approvals
@dataclass(frozen=True)
class MachineApproval:
    """How one revision stands on one machine, with the row that says so."""

    machine: Machine
    word: str
    last: ProgramApproval | None
    instead: str


def _approvals(revision: ProgramRevision) -> list[MachineApproval]:
    rows = list(
        ProgramApproval.objects.filter(revision__program=revision.program)
        .select_related("revision", "by")
        .defer("revision__content")
        .order_by("at", "id")
    )
    return [_on_machine(revision, m, rows) for m in Machine.objects.all()]


def _approved(lines: list[MachineApproval]) -> list[str]:
    """Names of the machines on which the revision stands approved."""
    return [line.machine.name for line in lines if line.word == "approved"]


def _withdrawn_since(revision: ProgramRevision, before: list[str]) -> str:
    """What a change of what was approved has withdrawn, as a sentence to go behind another."""
    now = _approved(_approvals(revision))
    gone = [name for name in before if name not in now]
    return f" No longer approved on {' and '.join(gone)}: approve it anew." if gone else ""


def _only_machine(lines: list[MachineApproval]) -> dict:
    """Where there is one machine, nobody has to pick it."""
    return {"machine": lines[0].machine.pk} if len(lines) == 1 else {}


def _on_machine(
    revision: ProgramRevision, machine: Machine, rows: list[ProgramApproval]
) -> MachineApproval:
    here = [row for row in rows if row.machine_id == machine.pk]
    standing = approvals.standing_revision(here)
    own = [row for row in here if row.revision_id == revision.pk]
    last = own[-1] if own else None
    if standing == revision.pk:
        return MachineApproval(machine, "approved", last, "")
    instead = next((r.revision.label for r in here if r.revision_id == standing), "")
    withdrawn = last is not None and last.state == "withdrawn"
    return MachineApproval(machine, "withdrawn" if withdrawn else "not approved", last, instead)


@needs("program.approve")
@require_POST
def program_approve(request: HttpRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = ApprovalForm(request.POST)

    def act(data: dict):
        return approvals.set_approval(by=request.user, revision=revision, **data)

    done = attempt(form, act)
    if done is None:
        return _revision_page(request, revision, _RefusedForms(approval=form))
    verb = "approved for" if form.cleaned_data["state"] == "approved" else "withdrawn from"
    tell(request, done, f"{revision} {verb} {form.cleaned_data['machine']}.")
    return redirect("assemblies:program_revision", pk=pk)


@needs("program.confirm")
@require_POST
def program_top_of_stock(request: HttpRequest, pk: int) -> HttpResponse:
    revision = _revision(pk)
    form = TopOfStockForm(request.POST)
    before = _approved(_approvals(revision))

    def act(data: dict):
        return requirements.set_top_of_stock(by=request.user, revision=revision, **data)

    done = attempt(form, act)
    if done is None:
        return _revision_page(request, revision, _RefusedForms(top=form))
    tell(request, done, f"Top of the work recorded.{_withdrawn_since(revision, before)}")
    return redirect("assemblies:program_revision", pk=pk)


# ---- stating one tool number
@needs("program.confirm")
@require_http_methods(["GET", "HEAD", "POST"])
def requirement(request: HttpRequest, pk: int, tool_number: int) -> HttpResponse:
    revision = _revision(pk)
    row = _stated(revision).filter(tool_number=tool_number).first()
    lines = _approvals(revision)
    shown = _shown_reading(request, revision, lines)
    use = _use(revision, shown, tool_number)
    if row is None and use is None:
        raise Http404(f"{revision} has no T{tool_number}.")
    offer = _offer(revision, row, tool_number)
    initial = proposed_initial(offer) if offer else requirement_initial(row)
    form = RequirementForm(posted(request), initial=initial)

    def act(data: dict):
        return requirements.confirm_requirement(
            by=request.user,
            submission=data["submission"],
            revision=revision,
            tool_number=tool_number,
            figures=form.figures(),
            preferred=data["preferred"],
            alternatives=data["alternatives"],
        )

    back_url = reverse("assemblies:program_revision", kwargs={"pk": pk})
    return form_page(
        request,
        form,
        act,
        then=back_url,
        said=lambda: f"T{tool_number} confirmed.{_withdrawn_since(revision, _approved(lines))}",
        template="assemblies/requirement_form.html",
        heading=f"What T{tool_number} in {revision} must be",
        submit="Confirm",
        back_url=back_url,
        row=row,
        use=use,
        figures=list(figure_lines(use, shown.top_um, shown.in_inches)) if use else [],
        offer=offer,
        shown=shown,
        revision=revision,
        tool_number=tool_number,
    )


def _use(revision: ProgramRevision, shown: ShownReading, tool_number: int) -> ToolUse | None:
    """What the shown reading says of the tool; where it is not called there, any other one's."""
    uses = ToolUse.objects.filter(reading__revision=revision, tool_number=tool_number)
    own = shown.reading.pk if shown.reading else None
    return min(uses, key=lambda use: use.reading_id != own, default=None)


def _offer(
    revision: ProgramRevision, row: ToolRequirement | None, tool_number: int
) -> Proposal | None:
    """What the assembly loaded last would ask for, where nothing is stated yet."""
    states_nothing = row is None or not (row.is_confirmed or row.kind or row.diameter_um)
    return last_loaded(revision, tool_number) if states_nothing else None
