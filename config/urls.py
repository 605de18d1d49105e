"""Addresses: the three rooms, and one page for watchdogs.

Pages for 403, 404 and 500 are the templates of that name, which Django finds by itself.
"""

from django.urls import include, path

from config.health import health

urlpatterns = [
    path("healthz", health, name="health"),
    path("", include("labels.urls")),
    path("", include("assemblies.urls")),
    path("", include("crib.urls")),
]
