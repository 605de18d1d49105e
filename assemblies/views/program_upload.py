"""Handing a program in: a file, a drop or a pasted text, and what to call it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from assemblies.actions import programs
from assemblies.actions.comparing import compare_readings
from assemblies.actions.program_proposal import HEAD_BYTES, Proposal, proposal_for
from assemblies.actions.readings import reading_of
from assemblies.forms.programs import LARGEST_FILE
from assemblies.forms.upload import FIRST_FIELD, LAST_FIELD, UploadForm
from assemblies.models import ProgramRevision
from crib.actions.once import Done
from crib.models import Person
from crib.rules.refusal import Refused
from crib.views.access import attempt, needs, tell
from crib.views.form_page import posted


@needs("program.add")
@require_http_methods(["GET", "HEAD", "POST"])
def program_new(request: HttpRequest) -> HttpResponse:
    form = UploadForm(posted(request), request.FILES or None, initial=_initial(request))

    def act(data: dict):
        content, file_name = form.content()
        return _add_revision(request.user, data, content, file_name)

    if request.method == "POST":
        done = attempt(form, act)
        if done is not None:
            tell(request, done, _what_was_read(int(done.result)))
            return _go_on(request, reverse("assemblies:program_revision", args=[done.result]))
    context = {
        "form": form,
        "first_field": FIRST_FIELD,
        "last_field": LAST_FIELD,
        "largest_bytes": LARGEST_FILE,
    }
    return render(request, "assemblies/program_new.html", context)


def _initial(request: HttpRequest) -> dict:
    """The name of the program that gets another revision, and the mark after its last."""
    name = request.GET.get("name", "")[:60]
    return {"name": name, "label": proposal_for(b"", "", name).mark if name.strip() else ""}


def _go_on(request: HttpRequest, address: str) -> HttpResponse:
    """To `address`; the script that sent the file is told where, else it would fetch it unseen."""
    if request.headers.get("X-Requested-With") == "XMLHttpRequest":
        return JsonResponse({"next": address})
    return redirect(address)


def _add_revision(by: Person, data: dict, content: bytes, file_name: str) -> Done:
    """Hand the text in; what is wrong with a pasted text is said at the field it came from."""
    try:
        return programs.add_revision(
            by=by,
            submission=data["submission"],
            name=data["name"],
            label=data["label"],
            title=data["title"],
            data=content,
            file_name=file_name,
        )
    except Refused as refused:
        if refused.field == "file" and not data["file"]:
            refused.field = "pasted"
        raise


def _what_was_read(pk: int) -> str:
    """`HM-0412 C read: 3 tool numbers, 812 blocks.` and what changed since the one before."""
    revision = ProgramRevision.objects.select_related("program").defer("content").get(pk=pk)
    reading = reading_of(revision)
    if reading is None:
        return f"{revision} is kept. It was not read yet."
    numbers = reading.tool_uses.count()
    said = [
        f"{revision} read: {numbers} tool number{'' if numbers == 1 else 's'}, "
        f"{reading.block_count} blocks{'' if reading.complete else ', not fully read'}."
    ]
    others = revision.program.revisions.defer("content").exclude(pk=pk)
    before = others.filter(added_at__lte=revision.added_at).first()
    earlier = reading_of(before) if before else None
    if earlier is not None:
        said.append(f"Since {before.label}: {compare_readings(earlier, reading).sentence}.")
    if numbers:
        said.append("Now look at what each T number must be.")
    return " ".join(said)


@needs("program.add")
@require_POST
def program_proposal(request: HttpRequest) -> HttpResponse:
    """What the script fills in once a file is picked: told from its first lines. Writes nothing."""
    head = request.FILES.get("head")
    proposal = proposal_for(
        head.read(HEAD_BYTES) if head else b"",
        request.POST.get("file_name", "")[-200:],
        request.POST.get("name", "").replace("\0", "")[:60],
    )
    return JsonResponse(
        {
            "name": proposal.name,
            "label": proposal.mark,
            "title": proposal.title,
            "refused": proposal.refused,
            "said": _said(proposal),
        }
    )


def _said(proposal: Proposal) -> str:
    if not proposal.name:
        return ""
    if proposal.marks is None:
        new = f"There is no program {proposal.name} yet. It would be a new one."
        others = ", ".join(proposal.same_number)
        return f"{new} The same number stands in the file of {others}." if others else new
    last = ", ".join(proposal.marks[-5:])
    return f"{proposal.name} has {last}. {proposal.mark or 'Another mark'} would be its next."
