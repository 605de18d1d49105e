"""Addresses of drawings of assemblies; `assemblies/urls.py` takes them in."""

from __future__ import annotations

urlpatterns: list = []
