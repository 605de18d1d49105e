from django.apps import AppConfig


class AssembliesConfig(AppConfig):
    """Builds, fit, machines, programs and the check at the spindle."""

    name = "assemblies"
    default_auto_field = "django.db.models.BigAutoField"
