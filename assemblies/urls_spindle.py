"""Addresses at the spindle; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import control_number, spindle, stations

urlpatterns = [
    path("spindle/", spindle.spindle, name="spindle"),
    path("spindle/number/", control_number.control_number, name="control_number"),
    path("spindle/ask/", spindle.ask_for_tool, name="ask_for_tool"),
    path("spindle/<int:number>/", spindle.spindle_lookup, name="spindle_lookup"),
    path("spindle/recorded/<int:pk>/", spindle.spindle_recorded, name="spindle_recorded"),
    path("station/", stations.station, name="station"),
]
