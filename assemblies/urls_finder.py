"""Addresses of the part finder; `assemblies/urls.py` takes them in."""

from __future__ import annotations

urlpatterns: list = []
