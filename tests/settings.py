"""The shop's settings with what tests need changed; nothing of the developer's own gets in."""

import atexit
import os
import shutil
import tempfile

for _name in (
    "ALLOWED_HOSTS",
    "BASE_URL",
    "DEBUG",
    "DEMO",
    "HOST",
    "HTTPS",
    "SESSION_HOURS",
    "SHOP_NAME",
    "TIME_ZONE",
):
    os.environ.pop(_name, None)
os.environ["SECRET_KEY"] = "for-tests-only-" + "0123456789" * 5
os.environ["HOLDERBOOK_DATA"] = tempfile.mkdtemp(prefix="holderbook-tests-")
atexit.register(shutil.rmtree, os.environ["HOLDERBOOK_DATA"], ignore_errors=True)

from config.settings import *  # noqa: E402

ALLOWED_HOSTS = ["*"]
# Real ones take a fifth of a second each, on purpose.
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
SILENCED_SYSTEM_CHECKS = ["holderbook.W001"]

if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    # A power cut may take a test's rows with it.
    _options = DATABASES["default"]["OPTIONS"]
    _options["init_command"] = _options["init_command"].replace("=FULL", "=NORMAL")
# A kept connection of a server thread would hold the test database when it is dropped.
DATABASES["default"]["CONN_MAX_AGE"] = 0

STATIC_ROOT = DATA_DIR / "static"
STATIC_ROOT.mkdir()
STORAGES = {
    **STORAGES,
    # Without a manifest: nothing has been collected.
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
