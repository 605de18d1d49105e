"""What a stranger, or somebody with more rights than sense, may try at the door."""

import csv
import io

import pytest
from django.core.cache import cache
from django.db import OperationalError, connection
from django.test import Client

from config.body_limit import refuse_large_bodies
from crib.models import Person
from crib.views.csv_file import csv_answer
from labels.views import scan
from tests import makers
from tests.crib.pages import signed_in

SIGN_IN = "/sign-in/"
POLICY = "frame-ancestors 'none'"


def password_of(client, person, password, **sent):
    return client.post(SIGN_IN, {"username": person.username, "password": password}, **sent)


# ---- headers
@pytest.mark.django_db
@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("get", SIGN_IN, 200),
        ("get", "/", 302),
        ("get", "/items", 301),
        ("get", "/no-such-page/", 404),
        ("put", "/healthz", 405),
        ("get", "/static/no-such.css", 404),
        ("get", "/healthz", 200),
    ],
)
def test_every_answer_brings_the_content_policy(client, method, path, status):
    answer = getattr(client, method)(path)
    assert answer.status_code == status
    assert POLICY in answer["Content-Security-Policy"]
    assert answer["X-Content-Type-Options"] == "nosniff"


@pytest.mark.django_db
def test_pages_of_refusals_bring_the_content_policy(settings):
    settings.ALLOWED_HOSTS = ["crib.test"]
    stranger = Client(headers={"host": "elsewhere.test"}).get(SIGN_IN)
    forged = Client(enforce_csrf_checks=True, headers={"host": "crib.test"}).post(SIGN_IN)
    assert (stranger.status_code, forged.status_code) == (400, 403)
    assert POLICY in stranger["Content-Security-Policy"]
    assert POLICY in forged["Content-Security-Policy"]


@pytest.mark.django_db
def test_a_host_that_a_proxy_reports_is_not_believed(client):
    answer = client.get("/", headers={"x-forwarded-host": "elsewhere.test"})
    assert "elsewhere" not in answer["Location"]


# ---- how much is taken
@pytest.mark.django_db
@pytest.mark.parametrize(
    ("name", "who"),
    [("LARGEST_REQUEST_SIGNED_OUT", None), ("LARGEST_REQUEST", "programmer")],
)
def test_a_request_is_refused_by_its_announced_length_before_it_is_read(settings, rf, name, who):
    reached = []
    largest = getattr(settings, name)
    middleware = refuse_large_bodies(lambda request: reached.append(request) or "taken")
    for announced in (largest, largest + 1):
        request = rf.post(SIGN_IN)
        request.META["CONTENT_LENGTH"] = str(announced)
        request.user = makers.person(who) if who else Person()
        if not who:
            request.user = type("Stranger", (), {"is_authenticated": False})()
        answer = middleware(request)
    assert len(reached) == 1
    assert answer.status_code == 413


@pytest.mark.django_db
def test_a_length_that_is_no_number_is_no_length(rf):
    request = rf.post(SIGN_IN)
    request.META["CONTENT_LENGTH"] = "many"
    assert refuse_large_bodies(lambda _: "taken")(request) == "taken"


@pytest.mark.django_db
def test_nobody_fills_the_disk_without_signing_in(client, settings):
    settings.LARGEST_REQUEST_SIGNED_OUT = 1_000
    upload = io.BytesIO(b"G1 X1\n" * 1_000)
    upload.name = "big.nc"
    assert client.post(SIGN_IN, {"file": upload}).status_code == 413


# ---- signing in
@pytest.mark.django_db
def test_a_shared_computer_is_not_locked_by_one_person(client, settings):
    settings.AXES_FAILURE_LIMIT = 3
    locked, other = makers.person("operator"), makers.person("operator")
    for _ in range(3):
        answer = password_of(client, locked, "wrong")
    assert answer.status_code == 429
    assert password_of(client, other, makers.PASSWORD).status_code == 302


@pytest.mark.django_db
@pytest.mark.parametrize(
    "sent",
    [{}, {"headers": {"x-forwarded-for": "10.1.2.3"}}, {"headers": {"x-real-ip": "10.1.2.3"}}],
)
def test_a_lock_is_not_left_by_naming_another_address(client, settings, sent):
    settings.AXES_FAILURE_LIMIT = 3
    person = makers.person("operator")
    for _ in range(3):
        password_of(client, person, "wrong")
    assert password_of(client, person, makers.PASSWORD, **sent).status_code == 429


@pytest.mark.django_db
def test_a_lock_is_not_left_by_writing_the_name_in_other_signs(client, settings):
    settings.AXES_FAILURE_LIMIT = 3
    person = makers.person("operator", username="tester")
    for _ in range(3):
        password_of(client, person, "wrong")
    wide = "".join(chr(ord(letter) + 0xFEE0) for letter in person.username)
    answer = client.post(SIGN_IN, {"username": wide, "password": makers.PASSWORD})
    assert "_auth_user_id" not in client.session
    assert answer.status_code == 429


@pytest.mark.django_db
def test_a_session_planted_before_the_sign_in_is_not_taken_over(client):
    session = client.session
    session["planted"] = "yes"
    session.save()
    client.cookies["sessionid"] = session.session_key
    password_of(client, makers.person("operator"), makers.PASSWORD)
    assert client.session.session_key != session.session_key


@pytest.mark.django_db
def test_a_session_that_was_signed_out_opens_nothing(client):
    client.force_login(makers.person("operator"))
    kept = client.cookies["sessionid"].value
    client.post("/sign-out/")
    client.cookies["sessionid"] = kept
    assert client.get("/items/").status_code == 302


@pytest.mark.django_db
def test_a_person_who_may_no_longer_sign_in_is_out_at_once():
    client = signed_in("operator")
    Person.objects.filter(pk=client.person.pk).update(is_active=False)
    assert client.get("/items/").status_code == 302


# ---- scanning
@pytest.mark.django_db
def test_a_count_of_misses_that_left_the_cache_starts_again(monkeypatch):
    cache.clear()
    person = makers.person("operator")
    monkeypatch.setattr(scan.cache, "add", lambda *args, **kwargs: False)
    scan._count_miss(person)
    assert cache.get(scan._counter(person)) == 1


# ---- files for spreadsheets
@pytest.mark.parametrize(
    "cell", ["=CMD()", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "  =1", "＝1", "＋1", "－1", "＠A"]
)
def test_no_cell_of_a_list_is_run_as_a_formula(cell):
    answer = csv_answer("list.csv", ["Text"], [[cell]])
    text = answer.content.decode("utf-8-sig")
    _, (shown,) = csv.reader(io.StringIO(text, newline=""))
    assert shown == f"'{cell}"


# ---- faults
@pytest.mark.django_db
def test_without_a_database_the_watchdog_and_the_page_of_faults_answer(client, monkeypatch):
    client.raise_request_exception = False

    def gone(*args, **kwargs):
        raise OperationalError("gone")

    monkeypatch.setattr(connection, "cursor", gone)
    assert client.get("/healthz").status_code == 503
    client.cookies["sessionid"] = "x" * 32
    answer = client.get("/items/")
    assert answer.status_code == 500
    assert b"Not checked" in answer.content
    assert b"OperationalError" not in answer.content
    assert POLICY in answer["Content-Security-Policy"]
