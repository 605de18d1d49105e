"""Addresses of instruments and calibrations; `crib/urls.py` takes them in."""

from __future__ import annotations

urlpatterns: list = []
