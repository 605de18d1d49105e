from django.apps import AppConfig


class LabelsConfig(AppConfig):
    """Label codes, printed labels and what a scan leads to."""

    name = "labels"
    default_auto_field = "django.db.models.BigAutoField"
