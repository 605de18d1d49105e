"""The project itself as an app, so that its system checks are found."""

from django.apps import AppConfig


class HolderbookConfig(AppConfig):
    name = "config"
    label = "config"
    verbose_name = "Holderbook"

    def ready(self):
        from config import checks  # noqa: F401 - registers them
