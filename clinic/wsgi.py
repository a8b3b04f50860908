"""The door a web server knocks at: `waitress-serve clinic.wsgi:application`."""

import os
from collections.abc import Callable, Iterable
from typing import Any

from django.core.wsgi import get_wsgi_application

Application = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
os.umask(0o077)  # whatever is made from here on is for its owner only


def head_without_body(inner: Application) -> Application:
    """An answer to HEAD has no body (RFC 9110, 9.3.2); one would be read as the start of the next answer."""

    def outer(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        answer = inner(environ, start_response)
        if environ["REQUEST_METHOD"] != "HEAD":
            return answer
        if hasattr(answer, "close"):
            answer.close()
        return []

    return outer


application = head_without_body(get_wsgi_application())
