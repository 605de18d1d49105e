"""The list of decisions at the spindles."""

from __future__ import annotations

from collections.abc import Mapping

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

    caption = "Checks at the spindles"
    # A table that knows of pages is counted by the database; any other fetches all its lines.
    paginator = None

    class Meta:
        order_by = "-at"

    def __init__(self, *args, reasons: Mapping[str, str], **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.reasons = reasons

    def order_at(self, queryset, is_descending):
        # The number breaks ties, so that no line stands on two pages.
        return queryset.order_by(*(("-at", "-id") if is_descending else ("at", "id"))), True

    def render_tool_number(self, value: int) -> str:
        return f"T{value}"

    def render_assembly(self, record: SpindleCheck) -> str:
        revision = record.build.revision_text if record.build else ""
        return format_html(
            '<span class="tag">{} <small>{}</small></span>', record.assembly, revision
        )

    def render_verdict(self, record: SpindleCheck) -> str:
        word = record.get_verdict_display()
        if record.fully_known:
            return word
        return format_html('<span>{}<br><span class="quiet">not fully known</span></span>', word)

    def render_decision(self, record: SpindleCheck) -> str:
        said = [self.reasons.get(record.reason, record.reason), _override(record)]
        why = "; ".join(words for words in said if words)
        decision = record.get_decision_display()
        if not why:
            return decision
        return format_html('<span>{}<br><span class="quiet">{}</span></span>', decision, why)


def _override(record: SpindleCheck) -> str:
    if record.overridden_by_id is None:
        return ""
    own = record.overridden_by_id == record.by_id
    return "stop overridden, own PIN" if own else "stop overridden"
