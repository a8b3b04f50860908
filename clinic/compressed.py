"""Text answers are compressed: pages, styles, scripts, CSV. Pictures, type and PDF are so already.

A page that holds a secret beside words of somebody else could be guessed from its compressed length (BREACH, 2013). Here each
form's token is masked anew in every answer, and Django adds bytes at random to what it compresses (GZipMiddleware, since 4.2:
"heal the breach"). A page that shows a code once is left as it is all the same.
"""

from django.http import HttpRequest, HttpResponseBase
from django.middleware.gzip import GZipMiddleware

TEXT = ("text/", "application/json", "application/javascript", "image/svg")
SECRET = ("/invite/", "/recovery/", "/recoveries/", "/account/", "/invitation/", "/sign-in/")


class CompressesText(GZipMiddleware):
    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        is_text = response.headers.get("Content-Type", "").startswith(TEXT)
        if not is_text or any(part in request.path for part in SECRET):
            return response
        return super().process_response(request, response)
