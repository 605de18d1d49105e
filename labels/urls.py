"""Addresses of the labels. `/S/CODE` is what the square symbol holds, in any case of letters."""

from __future__ import annotations

from django.urls import path, re_path

from labels.views import build_card, dry_run, machine_scans, print_label, scan, setup_sheet_pdf

app_name = "labels"
urlpatterns = [
    path("scan/", scan.scan, name="scan"),
    path("try/", dry_run.dry_run, name="dry_run"),
    path("scan/where/", machine_scans.scan_where, name="scan_where"),
    path("machines/<path:mark>/fill/scan/", machine_scans.fill_scan, name="fill_scan"),
    path("machines/<path:mark>/fill/record/", machine_scans.fill_record, name="fill_record"),
    re_path(r"^[Ss]/(?P<code>[^/]{1,60})/?$", scan.scan_code, name="scan_code"),
    path("assemblies/<int:number>/label/", print_label.print_page, name="print"),
    path("assemblies/<int:number>/card.pdf", build_card.build_card, name="build_card"),
    path("assemblies/<int:number>/label/cancel/", print_label.cancel, name="cancel"),
    path(
        "programs/<int:pk>/sheet/<path:mark>/sheet.pdf",
        setup_sheet_pdf.setup_sheet_pdf,
        name="setup_sheet_pdf",
    ),
]
