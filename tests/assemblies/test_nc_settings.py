"""The settings of a machine as a short text that says which readings are alike."""

from dataclasses import fields

import pytest

from assemblies.rules.nc.reading import ReaderSettings

OTHER = {
    "default_units": "inch",
    "t_alone_changes": True,
    "fixed_length_offsets": True,
    "g70_g71_are_units": True,
    "harmless_m_codes": frozenset({10, 11}),
    "largest_bytes": 5,
    "counts_least_increments": True,
    "peck_back_off_mm": 0.25,
}


def test_the_defaults_are_called_standard():
    assert ReaderSettings().key == "standard"


def test_every_setting_stands_in_this_test():
    assert {field.name for field in fields(ReaderSettings)} == set(OTHER)


@pytest.mark.parametrize("name", [name for name in OTHER if name != "largest_bytes"])
def test_each_setting_that_changes_a_reading_changes_the_key(name):
    assert ReaderSettings(**{name: OTHER[name]}).key != "standard"


def test_all_settings_together_have_a_short_key_of_their_own():
    key = ReaderSettings(**OTHER).key
    assert key == "inch;t-alone;fixed-h;g70-g71;increments;back-off-0.25;m10,m11"
    assert ReaderSettings(**OTHER | {"largest_bytes": 7}).key == key


def test_a_long_list_of_m_numbers_keeps_the_key_short_and_distinct():
    many = frozenset(range(100, 300))
    keys = {
        ReaderSettings(**OTHER | {"harmless_m_codes": codes}).key
        for codes in (many, many - {150}, many | {301})
    }
    assert len(keys) == 3
    assert all(len(key) <= 180 for key in keys)
