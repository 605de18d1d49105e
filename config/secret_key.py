"""The signing key of sessions and forms, made once and kept in the data folder."""

import os
import secrets
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

SHORTEST = 50


def kept_secret_key(path: Path) -> str:
    """Read the key in `path`; make it first when there is none."""
    if not path.exists():
        _make(path)
    key = path.read_text(encoding="ascii").strip()
    if len(key) < SHORTEST:
        raise ImproperlyConfigured(f"{path} is damaged: delete it, everybody then signs in again")
    return key


def _make(path: Path) -> None:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    draft = path.with_name(f"{path.name}.{os.getpid()}")
    handle = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(secrets.token_urlsafe(64))
    try:
        # A link appears whole or not at all, and never over another's key: two
        # workers that start at the same moment end up with the same one.
        os.link(draft, path)
    except FileExistsError:
        pass
    finally:
        draft.unlink()
