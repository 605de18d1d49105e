"""Addresses of taking an assembly apart and of making another one like it."""

from __future__ import annotations

from django.urls import path

from assemblies.views import copying, dismantling

urlpatterns = [
    path("assemblies/<int:number>/dismantle/", dismantling.dismantle, name="dismantle"),
    path("assemblies/<int:number>/copy/", copying.copy, name="copy"),
]
