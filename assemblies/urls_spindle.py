"""Addresses at the spindle; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import checks, spindle, stations

urlpatterns = [
    path("spindle/", spindle.spindle, name="spindle"),
    path("spindle/<int:number>/", spindle.spindle_lookup, name="spindle_lookup"),
    path("spindle/recorded/<int:pk>/", spindle.spindle_recorded, name="spindle_recorded"),
    path("station/", stations.station, name="station"),
    path("checks/", checks.check_list, name="check_list"),
    path("checks/<int:pk>/", checks.check_detail, name="check_detail"),
]
