"""Addresses of the rule book and the shop's limits; `assemblies/urls.py` takes them in."""

from __future__ import annotations

urlpatterns: list = []
