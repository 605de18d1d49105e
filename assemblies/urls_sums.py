"""Addresses of sums for the bench; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import sums

urlpatterns = [
    path("sums/", sums.sums, name="sums"),
    path("sums/<slug:name>/", sums.one_sum, name="one_sum"),
]
