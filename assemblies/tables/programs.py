"""Lists of the programs pages."""

from __future__ import annotations

import django_tables2 as tables
from django.template.defaultfilters import date
from django.urls import reverse
from django.utils.html import format_html
from django.utils.timezone import localtime

from assemblies.actions.approvals import standing_revision
from assemblies.models import Program, ProgramRevision
from crib.tables import NUMBER, ShopTable

#: A cell that is not broken into two lines where there is room.
_WHOLE = {"td": {"class": "whole"}}


class ProgramTable(ShopTable):
    """One line per program: its newest revision, how it was read, and where it is approved.

    Rows are programs with their revisions, newest first; readings and requirements of that one.
    """

    name = tables.Column(
        linkify=lambda record: _page_of(record), attrs=_WHOLE, verbose_name="Program"
    )
    title = tables.Column(empty_values=(), verbose_name="What it makes")
    newest = tables.Column(accessor="newest_at", attrs=_WHOLE, verbose_name="Newest")
    read = tables.Column(empty_values=(), orderable=False)
    tools = tables.Column(empty_values=(), verbose_name="T numbers", orderable=False)
    confirmed = tables.Column(empty_values=(), attrs=NUMBER, orderable=False)
    approved = tables.Column(empty_values=(), verbose_name="Approved on", orderable=False)
    revisions = tables.Column(
        accessor="pk", verbose_name="Revisions", attrs=NUMBER, orderable=False
    )

    caption = "Programs"

    def order_name(self, queryset, is_descending):
        return queryset.order_by("-name_key" if is_descending else "name_key"), True

    def render_title(self, record: Program) -> str:
        return record.title or "–"

    def render_newest(self, record: Program) -> str:
        newest = _newest(record)
        return f"{newest.label}, {date(localtime(newest.added_at), 'j M Y')}"

    def render_read(self, record: Program) -> str:
        readings = _newest(record).readings.all()
        if readings and all(reading.complete for reading in readings):
            return "fully"
        words = "not fully read" if readings else "not read"
        return format_html('<span class="not-known">{}</span>', words)

    def render_tools(self, record: Program) -> str:
        numbers = _called(_newest(record))
        return ", ".join(f"T{number}" for number in numbers) or "none read"

    def render_confirmed(self, record: Program) -> str:
        newest = _newest(record)
        rows = [row for row in newest.requirements.all() if row.is_confirmed]
        return f"{len(rows)} of {len(_called(newest))}"

    def render_approved(self, record: Program) -> str:
        return _standing(record.revisions.all()) or "nowhere"

    def render_revisions(self, record: Program) -> str:
        address = reverse("assemblies:program_history", args=[_newest(record).pk])
        count = len(record.revisions.all())
        return format_html(
            '<a href="{}">{}<span class="visually-hidden"> of {}</span></a>',
            address,
            count,
            record.name,
        )


def _newest(program: Program) -> ProgramRevision:
    return program.revisions.all()[0]


def _page_of(program: Program) -> str:
    return reverse("assemblies:program_revision", args=[_newest(program).pk])


def _called(revision: ProgramRevision) -> list[int]:
    return sorted({u.tool_number for read in revision.readings.all() for u in read.tool_uses.all()})


def _standing(revisions: list[ProgramRevision]) -> str:
    """`B on Router 1`: the revision that stands approved on each machine."""
    rows = [row for revision in revisions for row in revision.approvals.all()]
    # Who stands is told by the order of time, whatever revision the rows belong to.
    rows.sort(key=lambda row: (row.at, row.pk))
    labels = {revision.pk: revision.label for revision in revisions}
    machines = {row.machine_id: row.machine for row in rows}
    standing = [
        f"{labels[pk]} on {machine.name}"
        for machine_id, machine in machines.items()
        if (pk := standing_revision([r for r in rows if r.machine_id == machine_id]))
    ]
    return ", ".join(sorted(standing))
