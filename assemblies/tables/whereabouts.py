"""The list of assemblies that are not where expected."""

from __future__ import annotations

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from crib.tables import NUMBER, ShopTable


class WhereaboutsTable(ShopTable):
    """One line per assembly, oldest first; who had it last is for leads."""

    assembly = tables.Column(accessor="assembly__number", verbose_name="Assembly")
    why = tables.Column(verbose_name="Why")
    last_seen = tables.Column(verbose_name="Last seen")
    since = tables.DateTimeColumn(format="j M Y H:i", verbose_name="Since")
    days = tables.Column(attrs=NUMBER, verbose_name="Days")
    person = tables.Column(verbose_name="Who", orderable=False)
    note = tables.Column(default="–", orderable=False)

    caption = "Assemblies that are not where expected, oldest first"
    empty_hint = "Borrowed, taken out and not put back, or left in under another program."

    def render_assembly(self, record) -> str:
        url = reverse("assemblies:whereabouts_of", args=[record.assembly.number])
        return format_html('<a href="{}"><span class="tag">{}</span></a>', url, record.assembly)

    def render_last_seen(self, value: str) -> str:
        return format_html("<span>{}</span>", value)

    def render_note(self, value: str) -> str:
        return format_html("<span>{}</span>", value)
