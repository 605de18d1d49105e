"""Addresses of drawings of assemblies; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import drawing

urlpatterns = [
    path("assemblies/<int:number>/drawing.svg", drawing.drawing_svg, name="drawing_svg"),
]
