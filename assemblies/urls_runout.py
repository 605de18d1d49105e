"""Addresses of runout by part and of the re-clock test; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import runout_parts, runout_reclock

urlpatterns = [
    path("runout/", runout_parts.runout, name="runout"),
    # A mark may hold any sign, so it is matched whole.
    path("runout/<path:mark>/", runout_parts.runout_piece, name="runout_piece"),
    path("assemblies/<int:number>/re-clock/", runout_reclock.reclock, name="reclock"),
    path(
        "assemblies/<int:number>/re-clock/<int:pk>/",
        runout_reclock.reclock_answer,
        name="reclock_answer",
    ),
]
