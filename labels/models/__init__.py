"""Data of the labels. Import from here: `from labels.models import Label`."""

from labels.models.labels import Label

__all__ = ["Label"]
