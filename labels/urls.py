"""Addresses of the labels. `/S/CODE` is what the square symbol holds, in any case of letters."""

from __future__ import annotations

from django.urls import path, re_path

from labels.views import print_label, scan

app_name = "labels"
urlpatterns = [
    path("scan/", scan.scan, name="scan"),
    re_path(r"^[Ss]/(?P<code>[^/]{1,60})/?$", scan.scan_code, name="scan_code"),
    path("assemblies/<int:number>/label/", print_label.print_page, name="print"),
    path("assemblies/<int:number>/label/cancel/", print_label.cancel, name="cancel"),
]
