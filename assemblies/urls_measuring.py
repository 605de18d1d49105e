"""Addresses of measuring, weighing and what was measured; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import history, measuring, weigh

urlpatterns = [
    path("assemblies/<int:number>/measure/seen/", measuring.measure_seen, name="measure_seen"),
    path("assemblies/<int:number>/weigh/", weigh.weigh, name="weigh"),
    path("assemblies/<int:number>/history/", history.assembly_history, name="history"),
    # A mark may hold any sign, so it is matched whole.
    path("measured/<path:mark>/", history.piece_history, name="piece_history"),
]
