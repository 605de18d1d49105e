"""Addresses about decisions that were made; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import after_check, check_export, checks, corrections, override_rates

urlpatterns = [
    path("checks/", checks.check_list, name="check_list"),
    path("checks/export/", check_export.check_export, name="check_export"),
    path("checks/rules/", override_rates.override_rates, name="override_rates"),
    path("checks/corrections/", corrections.correction_list, name="correction_list"),
    path("checks/<int:pk>/", checks.check_detail, name="check_detail"),
    path("checks/<int:pk>/hands-on/", after_check.hands_on, name="hands_on"),
    path("checks/<int:pk>/correction/", corrections.correction, name="correction"),
]
