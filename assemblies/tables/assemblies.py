"""The list of assemblies."""

from __future__ import annotations

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html

from crib.rules.units import show_length, show_mm
from crib.tables import NUMBER, ShopTable


class AssemblyTable(ShopTable):
    """One line per assembly, from plain lines that the view put together."""

    number = tables.Column(verbose_name="Assembly")
    state = tables.Column(verbose_name="State")
    holder = tables.Column(verbose_name="Holder", default="none")
    cutter = tables.Column(verbose_name="Cutter", default="none")
    diameter_um = tables.Column(verbose_name="Ø measured", attrs=NUMBER, default="not known")
    gauge_length_um = tables.Column(verbose_name="Gauge length", attrs=NUMBER, default="not known")
    place = tables.Column(verbose_name="Where", default="not said")

    caption = "Assemblies"

    def render_number(self, record) -> str:
        url = reverse("assemblies:assembly_detail", args=[record.number])
        return format_html(
            '<a href="{}"><span class="tag">{} <small>{}</small></span></a>',
            url,
            record.number,
            record.revision,
        )

    def render_state(self, record) -> str:
        return format_html(
            '<span class="badge state-{}">{}</span>', record.state, record.state_name
        )

    def render_holder(self, value: str) -> str:
        return format_html('<span class="mark">{}</span>', value)

    def render_cutter(self, value: str) -> str:
        return format_html("<span>{}</span>", value)

    def render_diameter_um(self, record) -> str:
        return show_length(record.diameter_um, record.in_inches)

    def render_gauge_length_um(self, value) -> str:
        return f"{show_mm(value, 1)} mm"
