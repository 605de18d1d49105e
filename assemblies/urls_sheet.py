"""Addresses of the set-up sheet; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import setup_sheet

urlpatterns = [
    # A mark may hold any sign, so it is matched whole.
    path(
        "programs/<int:pk>/sheet/<path:mark>/offsets/<slug:form>",
        setup_sheet.setup_sheet_offsets,
        name="setup_sheet_offsets",
    ),
    path("programs/<int:pk>/sheet/<path:mark>/", setup_sheet.setup_sheet, name="setup_sheet"),
]
