"""Instruments: how each stands, and what happened to it."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from crib.actions.instrument_facts import TO_DO, instrument_lines, line_of, with_history
from crib.actions.instruments import record_calibration, save_instrument
from crib.forms.instruments import CalibrationForm, InstrumentForm
from crib.models import Instrument, InstrumentKind
from crib.rules.calibration import halved_interval
from crib.views.access import needs
from crib.views.form_page import address_of_pk, form_page, posted


@needs("view")
@require_safe
def instrument_list(request: HttpRequest) -> HttpResponse:
    lines = instrument_lines(timezone.localdate())
    context = {
        "due": [line for line in lines if line.state.standing in TO_DO],
        "in_date": [line for line in lines if line.state.standing not in TO_DO],
        "retired": Instrument.objects.filter(is_retired=True),
        "may_edit": request.user.may("instruments.edit"),
    }
    return render(request, "crib/instrument_list.html", context)


@needs("view")
@require_safe
def instrument_detail(request: HttpRequest, pk: int) -> HttpResponse:
    line = line_of(get_object_or_404(with_history(Instrument.objects), pk=pk), timezone.localdate())
    context = {
        "instrument": line.instrument,
        "state": line.state,
        "findings": [line.finding],
        "is_wrench": line.instrument.kind == InstrumentKind.WRENCH,
        "advised_months": halved_interval(line.state.event, line.instrument.months_between),
        "history": line.instrument.calibrations.select_related("by"),
        "may_edit": request.user.may("instruments.edit"),
    }
    return render(request, "crib/instrument_detail.html", context)


@needs("instruments.edit")
@require_safe
def instrument_kinds(request: HttpRequest) -> HttpResponse:
    return render(request, "crib/instrument_kinds.html", {"kinds": InstrumentKind.choices})


@needs("instruments.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def instrument_new(request: HttpRequest, kind: str) -> HttpResponse:
    if kind not in InstrumentKind.values:
        raise Http404
    heading = f"New {InstrumentKind(kind).label.lower()}"
    return _instrument_form(
        request, Instrument(kind=kind), heading, reverse("crib:instrument_kinds")
    )


@needs("instruments.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def instrument_edit(request: HttpRequest, pk: int) -> HttpResponse:
    instrument = get_object_or_404(Instrument, pk=pk)
    heading = f"Change {instrument.mark}"
    return _instrument_form(request, instrument, heading, _address(pk))


def _instrument_form(
    request: HttpRequest, instrument: Instrument, heading: str, back_url: str
) -> HttpResponse:
    form = InstrumentForm(posted(request), instance=instrument)

    def act(data: dict):
        return save_instrument(
            by=request.user, submission=data["submission"], instrument=form.instance
        )

    return form_page(
        request,
        form,
        act,
        then=address_of_pk("crib:instrument_detail"),
        said="Instrument saved.",
        heading=heading,
        about=instrument.get_kind_display(),
        back_url=back_url,
    )


@needs("instruments.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def instrument_calibrate(request: HttpRequest, pk: int) -> HttpResponse:
    instrument = get_object_or_404(Instrument, pk=pk)

    def act(data: dict):
        return record_calibration(by=request.user, instrument=instrument, **data)

    return form_page(
        request,
        CalibrationForm(posted(request)),
        act,
        then=address_of_pk("crib:instrument_detail"),
        said="Recorded.",
        heading=f"Calibration or mishap of {instrument.mark}",
        about="What is recorded here stays. A slip is put right by another line.",
        submit="Record",
        back_url=_address(pk),
    )


def _address(pk: int) -> str:
    return reverse("crib:instrument_detail", kwargs={"pk": pk})
