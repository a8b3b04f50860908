"""Text goes over the wire compressed; what is compressed already, and what shows a secret, does not."""

import gzip
from typing import Any

import pytest

from tests.cast import Cast

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]
ACCEPTS = {"HTTP_ACCEPT_ENCODING": "gzip"}


def test_a_page_is_a_third_of_its_length_or_less(cast: Cast, signed_in: Any) -> None:
    client, page = signed_in(cast.owner), f"/{cast.lane.code}/today/"
    answer = client.get(page, **ACCEPTS)
    assert answer.headers["Content-Encoding"] == "gzip" and "Accept-Encoding" in answer.headers["Vary"]
    assert len(answer.content) * 3 < len(gzip.decompress(answer.content))


def test_the_same_page_twice_has_two_lengths_so_that_nothing_is_guessed_from_one(cast: Cast, signed_in: Any) -> None:
    client, page = signed_in(cast.owner), f"/{cast.lane.code}/people/"
    assert len({len(client.get(page, **ACCEPTS).content) for _ in range(6)}) > 1


def test_styles_and_scripts_are_compressed_and_pages_with_secrets_are_not(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.owner)
    assert client.get("/static/register/pieces.css", **ACCEPTS).headers.get("Content-Encoding") == "gzip"
    assert "Content-Encoding" not in client.get("/account/", **ACCEPTS).headers


def test_who_asks_for_no_compression_gets_none(cast: Cast, signed_in: Any) -> None:
    assert "Content-Encoding" not in signed_in(cast.owner).get(f"/{cast.lane.code}/today/").headers
