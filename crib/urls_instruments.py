"""Addresses of instruments and calibrations; `crib/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from crib.views import instruments

urlpatterns = [
    path("instruments/", instruments.instrument_list, name="instrument_list"),
    path("instruments/new/", instruments.instrument_kinds, name="instrument_kinds"),
    path("instruments/new/<slug:kind>/", instruments.instrument_new, name="instrument_new"),
    path("instruments/<int:pk>/", instruments.instrument_detail, name="instrument_detail"),
    path("instruments/<int:pk>/edit/", instruments.instrument_edit, name="instrument_edit"),
    path(
        "instruments/<int:pk>/calibration/",
        instruments.instrument_calibrate,
        name="instrument_calibrate",
    ),
]
