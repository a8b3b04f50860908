"""What a page is drawn with: under names that hold its digest, kept for good by the browser, and light."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.contrib.staticfiles.storage import staticfiles_storage
from django.http import HttpRequest, HttpResponse
from django.templatetags.static import static
from django.test import RequestFactory
from whitenoise.middleware import WhiteNoiseMiddleware

from clinic import statics
from clinic.statics import collect

pytestmark = pytest.mark.django_db
MOST = 100 * 1024  # bytes of all scripts and styles together, compressed (own goal)
HASHED = re.compile(r"/static/register/page\.[0-9a-f]{12}\.js")


@pytest.fixture
def collected(settings: Any, tmp_path: Path) -> Iterator[Path]:
    settings.STATIC_ROOT = tmp_path
    collect()
    yield tmp_path


def asked_for(url: str) -> Any:
    def nothing(request: HttpRequest) -> HttpResponse:
        return HttpResponse(status=404)

    return WhiteNoiseMiddleware(nothing)(RequestFactory().get(url, HTTP_ACCEPT_ENCODING="gzip"))


def test_a_collected_file_goes_by_its_digest_and_is_kept_for_good(collected: Path) -> None:
    url = static("register/page.js")
    assert HASHED.fullmatch(url)
    answer = asked_for(url)
    assert answer.status_code == 200 and "immutable" in answer.headers["Cache-Control"]
    assert answer.headers["Content-Encoding"] == "gzip"


def test_a_plain_name_is_kept_a_minute_only(collected: Path) -> None:
    assert "immutable" not in asked_for("/static/register/page.js").headers["Cache-Control"]


def test_type_is_named_by_the_styles_under_its_digest(collected: Path) -> None:
    styles = (collected / staticfiles_storage.stored_name("register/tokens.css")).read_text()
    assert re.search(r"fonts/AlegreyaSans-Regular\.[0-9a-f]{12}\.woff", styles)


def test_the_worker_of_the_bench_may_look_after_the_bench_under_its_digest(collected: Path) -> None:
    answer = asked_for(static("register/bench_worker.js"))
    assert answer.headers["Service-Worker-Allowed"] == "/"
    assert "Service-Worker-Allowed" not in asked_for(static("register/bench.js")).headers


def test_all_scripts_and_styles_together_are_light(collected: Path) -> None:
    packed = [*collected.glob("register/*.js.gz"), *collected.glob("register/*.css.gz")]
    ours = [path for path in packed if not re.search(r"\.[0-9a-f]{12}\.", path.name)]
    assert len(ours) > 15 and sum(path.stat().st_size for path in ours) < MOST


def test_where_nobody_collected_the_plain_name_leads_there(settings: Any, tmp_path: Path) -> None:
    settings.STATIC_ROOT = tmp_path
    assert static("register/page.js") == "/static/register/page.js"


def test_what_an_older_version_collected_is_not_taken_for_todays(
    collected: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another server than `serve` after an upgrade: the plain name, and today's file."""
    assert static("register/added_since.js") == "/static/register/added_since.js"
    monkeypatch.setattr(statics, "COLLECTED", set())
    assert static("register/page.js") == "/static/register/page.js"
