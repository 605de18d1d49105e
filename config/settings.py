"""Settings, read from the environment; safe when nothing is set."""

import os
from datetime import timedelta
from pathlib import Path
from urllib.parse import urlsplit

import dj_database_url

from config.environment import read_address, read_switch, read_text, read_whole_number
from config.secret_key import kept_secret_key

# Before numpy is imported: a thread per core spins for nothing beside the other workers.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(read_text("HOLDERBOOK_DATA", str(BASE_DIR / "data"))).resolve()

# ---- the shop
DEBUG = read_switch("DEBUG")
DEMO = read_switch("DEMO")
HTTPS = read_switch("HTTPS")
SHOP_NAME = read_text("SHOP_NAME", "Holderbook")
# Where the server listens. Only a system check reads it: see config/checks.py.
HOST = read_text("HOST", "127.0.0.1:8000")
# What the QR on a label begins with.
BASE_URL = read_address("BASE_URL", "http://127.0.0.1:8000")

SECRET_KEY = read_text("SECRET_KEY") or kept_secret_key(DATA_DIR / "secret_key")
ALLOWED_HOSTS = [name.strip() for name in read_text("ALLOWED_HOSTS").split(",") if name.strip()]
if not ALLOWED_HOSTS:
    ALLOWED_HOSTS = sorted({"127.0.0.1", "localhost", urlsplit(BASE_URL).hostname})

# ---- what it is made of
INSTALLED_APPS = [
    "config.apps.HolderbookConfig",
    "labels.apps.LabelsConfig",
    "assemblies.apps.AssembliesConfig",
    "crib.apps.CribConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "axes",
    "django_filters",
    "django_htmx",
    "django_tables2",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    # Before the sign-in is asked for: the sign-in page needs its style sheet.
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.csp.ContentSecurityPolicyMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    # Before anything reads the form, which the check of its origin does first of all.
    "config.body_limit.refuse_large_bodies",
    "config.addresses.no_nul_in_addresses",
    "config.sign_in_first.SignInFirst",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "assemblies.views.stations.station_on_every_page",
    # Last: it turns a refused sign-in into its own answer.
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "crib.context.shell",
            ],
        },
    },
]

# ---- records
SQLITE_OPTIONS = {
    # A transaction that starts by reading and then wants to write dies at once with
    # "database is locked" when another one wrote in between; one that takes the write
    # lock first waits its turn.
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    # FULL: what the ledger says was written survives a power cut.
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA cache_size=-16000; "
    # Replacing a row deletes it: the guards of append-only tables have to see that.
    "PRAGMA recursive_triggers=ON;",
}


def read_database(url: str) -> dict:
    """The database at `url`; SQLite in the data folder when it is empty."""
    if not url:
        DATA_DIR.mkdir(mode=0o700, parents=True, exist_ok=True)
        url = f"sqlite:///{DATA_DIR / 'holderbook.sqlite3'}"
    database = dj_database_url.parse(url, conn_max_age=60, conn_health_checks=True)
    if database["ENGINE"] == "django.db.backends.sqlite3":
        database["OPTIONS"] = SQLITE_OPTIONS | database.get("OPTIONS", {})
        # A test database in memory has no threads' locks worth the name.
        database["TEST"] = {"NAME": str(DATA_DIR / "test.sqlite3")}
    else:
        # On a young database the planner compiles each join for half a second, to read a handful.
        database["OPTIONS"] = {"options": "-c jit=off"} | database.get("OPTIONS", {})
    # With IMMEDIATE, a transaction per page would let one reader hold up every writer.
    database["ATOMIC_REQUESTS"] = False
    return database


DATABASES = {"default": read_database(read_text("DATABASE_URL"))}

# Counters (refused PINs, unknown codes) are shared by all worker processes, so they
# cannot live in the memory of one.
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.db.DatabaseCache",
        "LOCATION": "holderbook_cache",
    }
}

# ---- people
AUTH_USER_MODEL = "crib.Person"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "config.backends.ShopBackend",
]
# Memory-hard, and part of Django.
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.ScryptPasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
]
LOGIN_URL = "crib:sign_in"
LOGIN_REDIRECT_URL = "crib:home"
LOGOUT_REDIRECT_URL = "crib:sign_in"

# Counted by person and address together: the crib's PC is shared, and one person's
# mistakes must not lock out all the others.
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_FAILURE_LIMIT = 10
AXES_COOLOFF_TIME = timedelta(minutes=15)
AXES_RESET_ON_SUCCESS = True
AXES_VERBOSE = False

# One shift, and a little over.
SESSION_COOKIE_AGE = read_whole_number("SESSION_HOURS", 12) * 3600
SESSION_COOKIE_SECURE = HTTPS
CSRF_COOKIE_SECURE = HTTPS
CSRF_FAILURE_VIEW = "config.sign_in_first.form_refused"

# ---- headers
CONTENT_SECURITY_POLICY = {
    "default-src": ["'self'"],
    "img-src": ["'self'", "data:"],
    "object-src": ["'none'"],
    "base-uri": ["'none'"],
    "form-action": ["'self'"],
    "frame-ancestors": ["'none'"],
}
X_FRAME_OPTIONS = "DENY"
SECURE_REFERRER_POLICY = "same-origin"
# Browsers ignore this one on plain HTTP and complain about it in the console.
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin" if HTTPS else None
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = HTTPS
SECURE_HSTS_PRELOAD = HTTPS

# ---- uploads: an NC program may come as text in a form, a long one has 60 MB
LARGEST_REQUEST = 70_000_000
# A name and a password.
LARGEST_REQUEST_SIGNED_OUT = 100_000
DATA_UPLOAD_MAX_MEMORY_SIZE = LARGEST_REQUEST
# A stock count or an order is one form with several fields a line.
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

# ---- words and time
LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = read_text("TIME_ZONE", "UTC")

# ---- static files
STATIC_URL = "/static/"
STATIC_ROOT = BASE_DIR / "staticfiles"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": (
            "django.contrib.staticfiles.storage.StaticFilesStorage"
            if DEBUG
            else "whitenoise.storage.CompressedManifestStaticFilesStorage"
        )
    },
}

# ---- log
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"},
    },
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["stderr"], "level": "WARNING"},
    # Django mails its errors by default; here everything goes to one place.
    "loggers": {"django": {"handlers": [], "level": "WARNING", "propagate": True}},
}
