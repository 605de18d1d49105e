"""Addresses of runout by part; `assemblies/urls.py` takes them in."""

from __future__ import annotations

urlpatterns: list = []
