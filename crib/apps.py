from django.apps import AppConfig


class CribConfig(AppConfig):
    """Items, pieces, places, the stock ledger, people and what to reorder."""

    name = "crib"
    default_auto_field = "django.db.models.BigAutoField"
