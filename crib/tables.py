"""The crib's lists. `ShopTable` is the base of every table, in the rooms above too."""

from __future__ import annotations

from dataclasses import dataclass, field

import django_tables2 as tables
from django.http import HttpRequest
from django.utils.html import format_html

from crib.models import Item, Person, Piece, Supplier
from crib.rules.units import show_inch, show_mm

NUMBER = {"th": {"class": "number"}, "td": {"class": "number"}}


class ShopTable(tables.Table):
    """Looks as every table of the shop. A subclass says what stands there when it is empty."""

    caption = ""
    empty_hint = ""
    empty_url = ""
    empty_label = ""
    #: Without this name on the table its length is found by fetching every row.
    paginator = None

    def __init__(self, *args, **kwargs) -> None:
        # A Meta class is not inherited, so the template is set here for every table.
        kwargs.setdefault("template_name", "_table.html")
        super().__init__(*args, **kwargs)


def laid_out(request: HttpRequest, table: tables.Table, per_page: int = 50) -> tables.Table:
    """`table` sorted and turned to the page that the address asks; its length is ours to say."""
    tables.RequestConfig(request, paginate=False).configure(table)
    page = request.GET.get(table.prefixed_page_field, "1")
    table.paginate(page=_page_number(page, table, per_page), per_page=per_page)
    return table


def _page_number(asked: str, table: tables.Table, per_page: int) -> int:
    """A page that there is: the nearest one to what was asked."""
    last = max(1, -(-len(table.rows) // per_page))
    number = int(asked) if asked.isdecimal() and len(asked) < 10 else 1
    return max(1, min(number, last))


@dataclass(frozen=True)
class StockCounts:
    """Pieces by item number: usable in racks, built in, still to come."""

    usable: dict[int, int] = field(default_factory=dict)
    built_in: dict[int, int] = field(default_factory=dict)
    on_order: dict[int, int] = field(default_factory=dict)


def key_size(item: Item) -> str:
    """The one figure by which people tell items of a kind apart."""
    facts = item.facts
    if facts is None:
        return ""
    make = {
        "holder": lambda: f"{facts.interface} {facts.collet_series or _bore(facts.bore_um)}",
        "collet": lambda: f"{facts.series} {collet_range(item)}",
        "nut": lambda: f"{facts.series} {facts.get_style_display().lower()}",
        "pull_stud": lambda: facts.pattern,
        "cutter": lambda: _diameter(facts.diameter_um, item.bought_in_inches),
        "sleeve": lambda: f"Ø {_short(facts.outer_um)} to {_short(facts.bore_um)}",
        "insert": lambda: str(facts),
    }
    return make[item.kind]().strip()


def collet_range(item: Item) -> str:
    """`7–6` for a collet in millimetres, `1/2 in, 12.7–11.7` for one bought in inches."""
    facts = item.collet_facts
    sizes = f"{_short(facts.clamp_max_um)}–{_short(facts.clamp_min_um)}"
    if not item.bought_in_inches:
        return sizes
    return f"{show_inch(facts.clamp_max_um)}, {sizes}"


def _short(value_um: int) -> str:
    return show_mm(value_um, 3).rstrip("0").rstrip(".")


def _bore(value_um: int | None) -> str:
    return f"Ø {show_mm(value_um)}" if value_um is not None else ""


def _diameter(value_um: int, in_inches: bool) -> str:
    inch = f" = {show_inch(value_um)}" if in_inches else ""
    return f"Ø {show_mm(value_um)}{inch}"


class ItemTable(ShopTable):
    code = tables.Column(linkify=("crib:item_detail", {"code": tables.A("code")}))
    kind = tables.Column()
    description = tables.Column()
    key_size = tables.Column(empty_values=(), orderable=False, verbose_name="Size")
    usable = tables.Column(empty_values=(), orderable=False, attrs=NUMBER)
    built_in = tables.Column(
        empty_values=(), orderable=False, attrs=NUMBER, verbose_name="In assemblies"
    )
    on_order = tables.Column(empty_values=(), orderable=False, attrs=NUMBER)
    minimum_kept = tables.Column(default="–", attrs=NUMBER, verbose_name="Minimum")

    caption = "Items"

    class Meta:
        order_by = "code"

    def __init__(self, *args, counts: StockCounts, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.counts = counts

    def order_code(self, queryset, is_descending):
        return queryset.order_by("-code_key" if is_descending else "code_key"), True

    def render_key_size(self, record: Item) -> str:
        if record.facts is None and record.kind != "spare":
            return "not recorded"
        return key_size(record) or "–"

    def render_usable(self, record: Item) -> int:
        return self.counts.usable.get(record.pk, 0)

    def render_built_in(self, record: Item) -> int:
        return self.counts.built_in.get(record.pk, 0)

    def render_on_order(self, record: Item) -> int:
        return self.counts.on_order.get(record.pk, 0)


class PieceTable(ShopTable):
    mark = tables.Column(linkify=("crib:piece_detail", {"mark": tables.A("mark")}))
    place = tables.Column(accessor="place__shown", default="nowhere yet", orderable=False)
    condition = tables.Column(orderable=False)
    condition_note = tables.Column(default="–", orderable=False, verbose_name="Why")

    caption = "Marked pieces"

    def order_mark(self, queryset, is_descending):
        return queryset.order_by("-mark_key" if is_descending else "mark_key"), True

    def render_mark(self, record: Piece) -> str:
        return format_html('<span class="mark">{}</span>', record.mark)


class MovementTable(ShopTable):
    at = tables.DateTimeColumn(format="j M Y H:i", verbose_name="When")
    reason = tables.Column()
    item = tables.Column(
        accessor="item__code",
        linkify=("crib:item_detail", {"code": tables.A("item__code")}),
        orderable=False,
    )
    piece = tables.Column(
        accessor="piece__mark",
        default="–",
        linkify=("crib:piece_detail", {"mark": tables.A("piece__mark")}),
        orderable=False,
        verbose_name="Mark",
    )
    quantity = tables.Column(attrs=NUMBER, verbose_name="Pieces")
    from_place = tables.Column(accessor="from_place__shown", orderable=False, verbose_name="From")
    to_place = tables.Column(accessor="to_place__shown", orderable=False, verbose_name="To")
    by = tables.Column(accessor="by__shown_name", orderable=False, verbose_name="Who")
    note = tables.Column(default="–", orderable=False)

    caption = "Movements, newest first"


class PersonTable(ShopTable):
    username = tables.Column(
        verbose_name="Sign-in name", linkify=("crib:person_edit", {"pk": tables.A("pk")})
    )
    shown_name = tables.Column(verbose_name="Name", orderable=False)
    initials = tables.Column(default="–", orderable=False)
    roles = tables.Column(accessor="role_names", empty_values=(), orderable=False)
    is_active = tables.BooleanColumn(yesno="yes,no", verbose_name="May sign in")

    caption = "People"

    def render_roles(self, record: Person) -> str:
        return ", ".join(record.role_names) or "no role: may not open anything"


class SupplierTable(ShopTable):
    lead_working_days = tables.Column(default="not recorded", attrs=NUMBER)
    note = tables.Column(default="–", orderable=False)

    caption = "Suppliers"

    class Meta:
        model = Supplier
        fields = ["name", "lead_working_days", "note"]


class SupplierEditTable(SupplierTable):
    """For those who may change what stands in it."""

    name = tables.Column(linkify=("crib:supplier_edit", {"pk": tables.A("pk")}))

    class Meta(SupplierTable.Meta):
        pass


class PlaceContentTable(ShopTable):
    """What lies at one place: rows of `{"item": Item, "quantity": int}`."""

    code = tables.Column(
        accessor="item__code", linkify=("crib:item_detail", {"code": tables.A("item__code")})
    )
    description = tables.Column(accessor="item__description")
    quantity = tables.Column(attrs=NUMBER, verbose_name="Pieces")

    caption = "What is here"
