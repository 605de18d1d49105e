"""Addresses of the rule book and the shop's limits; `assemblies/urls.py` takes them in."""

from __future__ import annotations

from django.urls import path

from assemblies.views import rule_book, shop_settings

urlpatterns = [
    path("rules/", rule_book.rule_list, name="rule_list"),
    path("rules/limits/", shop_settings.limit_list, name="limit_list"),
    path("rules/limits/<slug:name>/", shop_settings.limit_detail, name="limit_detail"),
    path("rules/limits/<slug:name>/change/", shop_settings.limit_change, name="limit_change"),
    path("rules/<slug:key>/", rule_book.rule_detail, name="rule_detail"),
]
