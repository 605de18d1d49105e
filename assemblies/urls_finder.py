"""Addresses of the part finder; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import part_finder

urlpatterns: list = [
    path("find/", part_finder.part_finder, name="part_finder"),
    path("find/start/", part_finder.start, name="part_finder_start"),
]
