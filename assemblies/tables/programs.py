"""Lists of the programs pages."""

from __future__ import annotations

import django_tables2 as tables

from crib.tables import NUMBER, ShopTable


class ProgramTable(ShopTable):
    """One line per program: its newest revision, and where it is approved."""

    name = tables.Column(linkify=lambda record: record.url, verbose_name="Program")
    title = tables.Column(verbose_name="What it makes")
    revision = tables.Column(verbose_name="Newest")
    tools = tables.Column(verbose_name="T numbers", orderable=False)
    confirmed = tables.Column(verbose_name="Confirmed", attrs=NUMBER, orderable=False)
    approved = tables.Column(verbose_name="Approved on", orderable=False)

    caption = "Programs"
