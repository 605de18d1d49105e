"""The list of decisions at the spindles."""

from __future__ import annotations

import django_tables2 as tables
from django.utils.html import format_html

from assemblies.models import SpindleCheck
from crib.tables import NUMBER, ShopTable


class CheckTable(ShopTable):
    at = tables.DateTimeColumn(
        format="j M Y H:i",
        verbose_name="When",
        linkify=("assemblies:check_detail", {"pk": tables.A("pk")}),
    )
    machine = tables.Column(
        accessor="machine__name", default="–", orderable=False, verbose_name="Machine"
    )
    revision = tables.Column(default="none", orderable=False, verbose_name="Program")
    tool_number = tables.Column(default="–", verbose_name="T", attrs=NUMBER)
    assembly = tables.Column(accessor="assembly__number", verbose_name="Assembly")
    verdict = tables.Column()
    decision = tables.Column()
    by = tables.Column(accessor="by__shown_name", orderable=False, verbose_name="Who")

    caption = "Checks at the spindles, newest first"

    class Meta:
        order_by = "-at"

    def render_tool_number(self, value: int) -> str:
        return f"T{value}"

    def render_assembly(self, record: SpindleCheck) -> str:
        revision = record.build.revision_text if record.build else ""
        return format_html(
            '<span class="tag">{} <small>{}</small></span>', record.assembly, revision
        )
