"""Suppliers: from whom, and how long a delivery takes."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from crib.actions.suppliers import save_supplier
from crib.forms.buying import SupplierForm
from crib.models import Supplier
from crib.tables import SupplierEditTable, SupplierTable, laid_out
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@needs("view")
@require_safe
def supplier_list(request: HttpRequest) -> HttpResponse:
    may_edit = request.user.may("items.edit")
    kind = SupplierEditTable if may_edit else SupplierTable
    table = kind(Supplier.objects.all(), empty_text="No suppliers yet.")
    context = {"table": laid_out(request, table), "may_edit": may_edit}
    return render(request, "crib/supplier_list.html", context)


@needs("items.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def supplier_new(request: HttpRequest) -> HttpResponse:
    return _supplier_form(request, Supplier(), "New supplier")


@needs("items.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def supplier_edit(request: HttpRequest, pk: int) -> HttpResponse:
    supplier = get_object_or_404(Supplier, pk=pk)
    return _supplier_form(request, supplier, f"Change {supplier.name}")


def _supplier_form(request: HttpRequest, supplier: Supplier, heading: str) -> HttpResponse:
    form = SupplierForm(posted(request), instance=supplier)

    def act(data: dict):
        return save_supplier(by=request.user, submission=data["submission"], supplier=form.instance)

    return form_page(
        request,
        form,
        act,
        then=reverse("crib:supplier_list"),
        said="Supplier saved.",
        heading=heading,
        back_url=reverse("crib:supplier_list"),
    )
