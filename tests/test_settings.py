"""Settings: safe when nothing is set, loud when something cannot be meant."""

import os
import stat
import subprocess
import sys

import pytest
from django.conf import settings
from django.core.cache import cache
from django.core.checks import run_checks
from django.core.exceptions import ImproperlyConfigured
from django.db import DatabaseError, connection
from django.test import RequestFactory

from config import environment
from config.backends import ShopBackend
from config.secret_key import kept_secret_key


def in_a_fresh_python(data_folder, *arguments, **variables):
    """Run `manage.py` with nothing but `variables` in the environment."""
    kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT") if name in os.environ}
    return subprocess.run(
        [sys.executable, "manage.py", *arguments],
        cwd=settings.BASE_DIR,
        env=kept | {"HOLDERBOOK_DATA": str(data_folder)} | variables,
        capture_output=True,
        text=True,
        check=False,
    )


def setting(data_folder, name, **variables):
    show = f"from django.conf import settings; print((settings.{name}))"
    done = in_a_fresh_python(data_folder, "shell", "--no-imports", "-c", show, **variables)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


# ---- the readers
@pytest.mark.parametrize(
    ("word", "expected"),
    [("1", True), ("yes", True), (" ON ", True), ("0", False), ("False", False), ("", False)],
)
def test_a_switch_takes_the_usual_words(monkeypatch, word, expected):
    monkeypatch.setenv("SWITCH", word)
    assert environment.read_switch("SWITCH") is expected


def test_an_empty_switch_is_its_default(monkeypatch):
    monkeypatch.setenv("SWITCH", "")
    assert environment.read_switch("SWITCH", default=True) is True


@pytest.mark.parametrize(
    ("reader", "word"),
    [
        (environment.read_switch, "ture"),
        (environment.read_switch, "2"),
        (lambda name: environment.read_whole_number(name, 12), "0"),
        (lambda name: environment.read_whole_number(name, 12), "-1"),
        (lambda name: environment.read_whole_number(name, 12), "1.5"),
        (lambda name: environment.read_address(name, ""), "crib.lan"),
        (lambda name: environment.read_address(name, ""), "ftp://crib.lan"),
        (lambda name: environment.read_address(name, ""), "http://"),
        (lambda name: environment.read_address(name, ""), "http://crib.lan/tools"),
        (lambda name: environment.read_address(name, ""), "http://anna@crib.lan"),
    ],
)
def test_a_value_that_cannot_be_meant_is_refused_by_name(monkeypatch, reader, word):
    monkeypatch.setenv("SOME_NAME", word)
    with pytest.raises(ImproperlyConfigured, match=f"SOME_NAME={word}"):
        reader("SOME_NAME")


def test_the_smallest_whole_number_is_taken(monkeypatch):
    monkeypatch.setenv("HOURS", "1")
    assert environment.read_whole_number("HOURS", 12) == 1


def test_an_address_loses_its_last_slash(monkeypatch):
    monkeypatch.setenv("ADDRESS", "https://crib.lan:8443/")
    assert environment.read_address("ADDRESS", "") == "https://crib.lan:8443"


# ---- the secret key
def test_a_secret_key_is_made_once_and_kept(tmp_path):
    path = tmp_path / "data" / "secret_key"
    first = kept_secret_key(path)
    assert kept_secret_key(path) == first
    assert [file.name for file in path.parent.iterdir()] == ["secret_key"]


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such file modes")
def test_only_the_owner_can_read_the_secret_key(tmp_path):
    kept_secret_key(tmp_path / "secret_key")
    assert stat.S_IMODE((tmp_path / "secret_key").stat().st_mode) == 0o600


def test_two_shops_have_two_secret_keys(tmp_path):
    assert kept_secret_key(tmp_path / "one") != kept_secret_key(tmp_path / "two")


@pytest.mark.parametrize(("length", "fine"), [(49, False), (50, True)])
def test_a_damaged_secret_key_stops_the_start(tmp_path, length, fine):
    path = tmp_path / "secret_key"
    path.write_text("k" * length, encoding="ascii")
    if fine:
        assert kept_secret_key(path) == "k" * length
        return
    with pytest.raises(ImproperlyConfigured, match="damaged"):
        kept_secret_key(path)


# ---- a fresh start
def test_nothing_set_means_closed(tmp_path):
    values = setting(tmp_path, "DEBUG, settings.DEMO, settings.HTTPS, settings.ALLOWED_HOSTS")
    assert values == "(False, False, False, ['127.0.0.1', 'localhost'])"


def test_the_host_of_the_labels_is_allowed(tmp_path):
    hosts = setting(tmp_path, "ALLOWED_HOSTS", BASE_URL="http://crib.lan:8000")
    assert hosts == "['127.0.0.1', 'crib.lan', 'localhost']"


def test_allowed_hosts_can_be_listed(tmp_path):
    assert setting(tmp_path, "ALLOWED_HOSTS", ALLOWED_HOSTS="a.lan, b.lan") == "['a.lan', 'b.lan']"


def test_a_misspelt_switch_stops_the_start(tmp_path):
    done = in_a_fresh_python(tmp_path, "check", HTTPS="ture")
    assert done.returncode != 0
    assert "HTTPS=ture" in done.stderr


def test_https_passes_the_deployment_checks_without_a_warning(tmp_path):
    done = in_a_fresh_python(
        tmp_path,
        "check",
        "--deploy",
        "--fail-level",
        "WARNING",
        HTTPS="1",
        BASE_URL="https://crib.lan",
    )
    assert done.returncode == 0, done.stderr


def test_sqlite_keeps_what_it_said_it_wrote(tmp_path):
    ask = (
        "from django.db import connection as c; k = c.cursor(); "
        "print([k.execute('PRAGMA ' + p).fetchone()[0] "
        "for p in ('journal_mode', 'synchronous', 'foreign_keys')])"
    )
    done = in_a_fresh_python(tmp_path, "shell", "--no-imports", "-c", ask)
    # 2 is FULL in SQLite's documentation of `PRAGMA synchronous`.
    assert done.stdout.strip() == "['wal', 2, 1]", done.stderr


def test_sqlite_takes_the_write_lock_first():
    if connection.vendor != "sqlite":
        pytest.skip("about SQLite only")
    assert settings.DATABASES["default"]["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
    assert settings.DATABASES["default"]["ATOMIC_REQUESTS"] is False


# ---- system checks
def ids_of_checks():
    return {message.id for message in run_checks() if message.id.startswith("holderbook.")}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"BASE_URL": "http://crib.lan:8000"}, set()),
        ({"BASE_URL": "http://192.168.0.20:8000"}, set()),
        ({"BASE_URL": "http://127.0.0.1:8000"}, {"holderbook.W001"}),
        ({"BASE_URL": "http://localhost:8000"}, {"holderbook.W001"}),
        ({"BASE_URL": "http://[::1]:8000"}, {"holderbook.W001"}),
        ({"BASE_URL": "http://crib.lan", "HTTPS": True}, {"holderbook.W002"}),
        ({"BASE_URL": "https://crib.lan", "HTTPS": True}, set()),
        ({"BASE_URL": "http://crib.lan:8000", "DEMO": True}, {"holderbook.E001"}),
        ({"BASE_URL": "http://crib.lan:8000", "DEMO": True, "DEBUG": True}, set()),
        ({"BASE_URL": "http://127.0.0.1:8000", "DEMO": True}, {"holderbook.W001"}),
        (
            {"BASE_URL": "http://127.0.0.1:8000", "HOST": "0.0.0.0:8000", "DEMO": True},
            {"holderbook.W001", "holderbook.E001"},
        ),
        (
            {"BASE_URL": "http://127.0.0.1:8000", "HOST": ":8000", "DEMO": True},
            {"holderbook.W001", "holderbook.E001"},
        ),
    ],
)
def test_settings_that_do_not_go_together_are_named(settings, changes, expected):
    for name, value in changes.items():
        setattr(settings, name, value)
    assert ids_of_checks() == expected


# ---- headers, health, counters, sign-in
def test_every_answer_forbids_what_is_not_ours(client, db):
    policy = client.get("/healthz").headers["Content-Security-Policy"]
    assert set(policy.split("; ")) == {
        "default-src 'self'",
        "img-src 'self' data:",
        "object-src 'none'",
        "base-uri 'none'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    }


def test_a_watchdog_needs_no_sign_in(client, db):
    response = client.get("/healthz")
    assert (response.status_code, response.content) == (200, b"ok\n")


def test_a_watchdog_is_told_when_the_database_is_gone(client, db, monkeypatch):
    def fail(*args, **kwargs):
        raise DatabaseError

    with monkeypatch.context() as outage:
        outage.setattr(connection, "cursor", fail)
        status = client.get("/healthz").status_code
    assert status == 503


def test_a_watchdog_cannot_write(client, db):
    assert client.post("/healthz").status_code == 405


def test_counters_are_shared_through_the_database(db):
    cache.set("refused_pins", 3)
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM holderbook_cache")
        assert cursor.fetchone() == (1,)


@pytest.mark.parametrize(
    ("demo", "is_demo", "let_in"),
    [(True, True, True), (False, True, False), (False, False, True), (True, False, True)],
)
def test_people_of_the_example_shop_sign_in_only_there(
    django_user_model, db, settings, demo, is_demo, let_in
):
    settings.DEMO = demo
    person = django_user_model.objects.create_user("anna", password="oak-7-lathe")
    person.is_demo = is_demo
    person.save()
    request = RequestFactory().post("/sign-in/")
    found = ShopBackend().authenticate(request, username="anna", password="oak-7-lathe")
    assert (found == person) is let_in
    assert (ShopBackend().get_user(person.pk) == person) is let_in
