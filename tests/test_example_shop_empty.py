"""When the example shop thinks a database is empty."""

import pytest

from config.example.load import records_there
from crib.models import Supplier, UnknownCode
from tests import makers

pytestmark = pytest.mark.django_db


def test_a_fresh_database_holds_nothing():
    assert records_there() == []


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: makers.person("admin"), ["people"]),
        (lambda: makers.place(), ["places"]),
        (lambda: makers.item(), ["items"]),
        (lambda: Supplier.objects.create(name="a firm"), ["other records"]),
        (lambda: UnknownCode.objects.create(entry="X", problem="unknown"), ["other records"]),
    ],
)
def test_a_single_record_of_any_kind_is_noticed(make, words):
    make()
    assert records_there() == words
