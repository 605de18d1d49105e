"""Addresses of the crib.

A code may hold any sign, so it is matched whole; pages that do something end in a fixed word.
"""

from __future__ import annotations

from django.urls import path

from crib import urls_instruments
from crib.views import (
    buying,
    help_pages,
    home,
    items,
    people,
    pieces,
    pin,
    places,
    sign_in,
    stock,
    style,
    suppliers,
    toolroom,
)
from crib.views.access import needs

app_name = "crib"
urlpatterns = [
    path("", home.home, name="home"),
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    # items
    path("items/", items.item_list, name="item_list"),
    path("items/new/", items.item_kinds, name="item_kinds"),
    path("items/new/<slug:kind>/", items.item_new, name="item_new"),
    path("items/<path:code>/edit/", items.item_edit, name="item_edit"),
    path("items/<path:code>/pieces/new/", pieces.piece_new, name="piece_new"),
    path("items/<path:code>/receive/", stock.receive, name="stock_receive"),
    path("items/<path:code>/issue/", stock.issue, name="stock_issue"),
    path("items/<path:code>/give-back/", stock.give_back, name="stock_give_back"),
    path("items/<path:code>/", items.item_detail, name="item_detail"),
    path("order-lines/<int:pk>/receive/", stock.receive_line, name="receive_line"),
    path("movements/", stock.movements, name="movements"),
    path("toolroom/", toolroom.toolroom, name="toolroom"),
    *urls_instruments.urlpatterns,
    # marked pieces
    path("pieces/<path:mark>/condition/", pieces.piece_condition, name="piece_condition"),
    path("pieces/<path:mark>/stud/", pieces.piece_stud, name="piece_stud"),
    path("pieces/<path:mark>/", pieces.piece_detail, name="piece_detail"),
    # places
    path("places/", places.place_list, name="place_list"),
    path("places/new/", places.place_new, name="place_new"),
    path("places/<int:pk>/", places.place_detail, name="place_detail"),
    path("places/<int:pk>/edit/", places.place_edit, name="place_edit"),
    # buying
    path("running-low/", buying.reorder, name="reorder"),
    path("running-low/list.csv", buying.reorder_csv, name="reorder_csv"),
    path("running-low/print/", buying.reorder_print, name="reorder_print"),
    path("running-low/<path:code>/ordered/", buying.mark_ordered, name="mark_ordered"),
    path("suppliers/", suppliers.supplier_list, name="supplier_list"),
    path("suppliers/new/", suppliers.supplier_new, name="supplier_new"),
    path("suppliers/<int:pk>/", suppliers.supplier_edit, name="supplier_edit"),
    # tables, people, help
    path("tables/", help_pages.reference_list, name="reference"),
    path("tables/<slug:name>/", help_pages.reference_table, name="reference_table"),
    path("people/", people.people, name="people"),
    path("people/new/", people.person_new, name="person_new"),
    path("people/<int:pk>/", people.person_edit, name="person_edit"),
    path("my-pin/", pin.my_pin, name="pin"),
    path("help/", help_pages.help_page, name="help"),
    path("style/", needs("view")(style.style_page), name="style"),
]
