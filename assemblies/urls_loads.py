"""Addresses of loads and whereabouts; `assemblies/urls.py` takes them in before the machines."""

from __future__ import annotations

from django.urls import path

from assemblies.views import pockets, whereabouts

urlpatterns = [
    # A mark may hold any sign, so what follows it has to be asked for first.
    path("machines/<path:mark>/fill/", pockets.fill, name="fill"),
    path("machines/<path:mark>/fill/compare/", pockets.fill_compare, name="fill_compare"),
    path("takeout/", whereabouts.take_out_scan, name="take_out_scan"),
    path("takeout/<int:pk>/", whereabouts.take_out_load, name="take_out"),
    path("whereabouts/", whereabouts.whereabouts, name="whereabouts"),
    path("whereabouts/list.csv", whereabouts.whereabouts_csv, name="whereabouts_csv"),
    path("whereabouts/<int:number>/", whereabouts.whereabouts_of, name="whereabouts_of"),
    path("whereabouts/<int:number>/borrow/", whereabouts.borrow_it, name="borrow"),
    path("whereabouts/<int:number>/put-back/", whereabouts.put_it_back, name="put_back"),
]
