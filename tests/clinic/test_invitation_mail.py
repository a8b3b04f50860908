"""An invitation goes by mail where there is a mail server and an address; otherwise the slip is enough."""

from smtplib import SMTPException
from typing import Any

import pytest
from django.core import mail

from clinic import accounts
from clinic.accounts import mail_invitation
from tests.cast import Cast

pytestmark = pytest.mark.django_db
LINK = "https://register.example/invitation/abc/"


def test_it_is_mailed_where_there_is_a_server_and_an_address(cast: Cast, settings: Any) -> None:
    settings.EMAIL_HOST = "mail.example"
    cast.assistant.person.email = "wren@example.org"
    cast.assistant.account.person = cast.assistant.person
    assert mail_invitation(cast.assistant.account, LINK) == "Mailed to wren@example.org."
    assert LINK in mail.outbox[0].body


def test_nothing_is_mailed_without_a_server(cast: Cast, settings: Any) -> None:
    settings.EMAIL_HOST = ""
    assert mail_invitation(cast.assistant.account, LINK) == ""
    assert mail.outbox == []


def test_mail_that_does_not_leave_is_said_and_loses_nothing(
    cast: Cast, settings: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*args: Any) -> None:
        raise SMTPException("no")

    settings.EMAIL_HOST = "mail.example"
    cast.assistant.person.email = "wren@example.org"
    cast.assistant.account.person = cast.assistant.person
    monkeypatch.setattr(accounts, "send_mail", refuse)
    assert "did not leave" in mail_invitation(cast.assistant.account, LINK)
