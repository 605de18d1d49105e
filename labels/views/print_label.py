"""The label of an assembly: what it will say, printing it, making it void."""

from __future__ import annotations

from uuid import uuid5

from django.conf import settings
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from assemblies.actions.parts import put_down
from assemblies.models import Assembly, Build
from assemblies.views.assembly_page import find_assembly
from crib.rules.finding import Finding
from crib.rules.refusal import NotAllowed, Refused
from crib.views.access import attempt, needs, tell
from labels.actions.print_label import cancel_label, label_content, print_label, releasable
from labels.drawing.assembly_label import AssemblyLabel, assembly_label_pdf, missing_on_label
from labels.forms import CancelLabelForm, PrintLabelForm
from labels.models import Label
from labels.rules.address import judge_base_url
from labels.rules.code import printed_code
from labels.rules.layout import LabelTooSmall

#: Stands in for the code on a preview; a code is given out with the first print.
_SAMPLE_CODE = "7K2M9QXR4"


@needs("label.print")
@require_http_methods(["GET", "HEAD", "POST"])
def print_page(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    if request.method == "POST":
        return _print(request, assembly)
    return _page(request, assembly)


def _print(request: HttpRequest, assembly: Assembly) -> HttpResponse:
    form = _print_form(request, assembly, request.POST)
    if not form.is_valid():
        return _page(request, assembly, Refused("label.form", "Open the page again, then print."))
    try:
        # Drawn once before it counts as printed: what cannot be drawn gives no code out.
        _drawn(_content(assembly))
        done = print_label(
            by=request.user, submission=form.cleaned_data["submission"], assembly=assembly
        )
        if not done.repeated:
            _stand_at(request, assembly, form)
        pdf = _drawn(label_content(_with_build(Label.objects.all()).get(code=done.result)))
    except NotAllowed:
        raise
    except Refused as refused:
        return _page(request, assembly, refused)
    answer = HttpResponse(pdf, content_type="application/pdf")
    answer["Content-Disposition"] = f'inline; filename="label-{assembly.number}.pdf"'
    answer["Cache-Control"] = "no-store"
    return answer


def _print_form(request: HttpRequest, assembly: Assembly, data=None) -> PrintLabelForm:
    return PrintLabelForm(
        data,
        initial={"place": assembly.contents.parent_id},
        may_put_down=request.user.may("stock.issue"),
    )


def _stand_at(request: HttpRequest, assembly: Assembly, form: PrintLabelForm) -> None:
    """Record the place that came with the print; a print sent again moves nothing."""
    place = form.cleaned_data.get("place")
    if place is None or place.pk == assembly.contents.parent_id:
        return
    # An id of its own that follows from the form's: the same print never moves it twice.
    submission = uuid5(form.cleaned_data["submission"], "place")
    put_down(by=request.user, submission=submission, assembly=assembly, place=place)


def _drawn(content: AssemblyLabel) -> bytes:
    try:
        return assembly_label_pdf(content)
    except LabelTooSmall as error:
        raise Refused(
            "label.too_small", f"It does not fit on 57 × 32 mm: {error}", "Shorten the mark."
        ) from error


def _with_build(labels: QuerySet[Label]) -> QuerySet[Label]:
    return labels.select_related("build__assembly", "build__built_by", "made_by")


def _content(assembly: Assembly) -> AssemblyLabel:
    """What the label of the released build says, with a sample code before the first print."""
    build = releasable(assembly)
    label = _with_build(Label.objects.filter(build=build)).first()
    return label_content(label or Label(code=_SAMPLE_CODE, build=_whole(build)))


def _whole(build: Build) -> Build:
    return Build.objects.select_related("assembly", "built_by").get(pk=build.pk)


def _page(
    request: HttpRequest,
    assembly: Assembly,
    refused: Refused | None = None,
    cancel_form: CancelLabelForm | None = None,
) -> HttpResponse:
    history = list(_with_build(Label.objects.filter(build__assembly=assembly)))
    valid = next((row for row in history if row.build.live and row.cancelled_at is None), None)
    content, why_not = _content_or_refusal(assembly, history)
    context = {
        "assembly": assembly,
        "content": content,
        "missing": missing_on_label(content) if content else "",
        "address_findings": address_findings(),
        "refused": refused or why_not,
        "form": _print_form(request, assembly) if content else None,
        "first_print": valid is None,
        "history": [(row, printed_code(row.code)) for row in history],
        "valid": valid,
        "cancel_form": (cancel_form or CancelLabelForm()) if valid else None,
    }
    return render(request, "labels/print.html", context, status=200)


def address_findings() -> list[Finding]:
    """What is wrong with the address that the symbol would carry."""
    return judge_base_url(settings.BASE_URL)


def _content_or_refusal(
    assembly: Assembly, history: list[Label]
) -> tuple[AssemblyLabel | None, Refused | None]:
    try:
        content = _content(assembly)
    except Refused as refused:
        return None, refused
    for row in history:
        if row.build.live and row.cancelled_at is not None:
            text = f"The label of {row.build} was made void: {row.cancel_reason}"
            return None, Refused("label.cancelled", text, "Rebuild the assembly to get a new one.")
    return content, None


@needs("label.print")
@require_POST
def cancel(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    form = CancelLabelForm(request.POST)
    done = attempt(
        form,
        lambda data: cancel_label(
            by=request.user,
            submission=data["submission"],
            assembly=assembly,
            reason=data["reason"],
        ),
    )
    if done is None:
        return _page(request, assembly, cancel_form=form)
    tell(request, done, f"Label {printed_code(done.result)} is void.")
    return redirect("labels:print", number=number)
