"""Addresses of sums for the bench; `assemblies/urls.py` takes them in."""

from __future__ import annotations

urlpatterns: list = []
