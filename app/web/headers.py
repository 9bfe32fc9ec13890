"""The headers on every answer: what a page may load, and that nobody keeps or frames it. OWASP ASVS 5.0, 3.4."""

from urllib.parse import urlsplit

from fastapi import Request, Response
from fastapi.responses import JSONResponse
from starlette.datastructures import MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from app.web.keyed_writes import wants_json
from app.web.kit import local_path, page

POLICY = (
    "default-src 'self'; script-src 'self'; style-src 'self'; img-src 'self' data:; object-src 'none'; "
    "base-uri 'none'; frame-ancestors 'none'; form-action 'self'"
)
#: On the sheet of a visit, and on the page that stands in for it without the network, the
#: vendored reader of codes may compile its WebAssembly; it may not make script of text.
SHEET_POLICY = POLICY.replace("script-src 'self'", "script-src 'self' 'wasm-unsafe-eval'")
BODY_BYTES_MOST = 12_000_000
#: A larger one still is answered before it is read to its end.
READ_AWAY_BYTES_MOST = 200_000_000
#: Pages of a share link on which somebody writes to the office.
SHARED_FORMS = ("/put-right", "/ask-for-a-visit")


def _is_local(headers: list[tuple[bytes, bytes]]) -> bool:
    """Whether the app is asked for by a name of the local network, which may have other, plain services beside it."""
    host = dict(headers).get(b"host", b"").decode("latin-1").rsplit(":", 1)[0].strip("[]")
    return host.endswith(".local") or host == "localhost" or all(part.isdigit() for part in host.split("."))


async def _read_away(receive: Receive) -> None:
    """Read a body and keep nothing: a browser that is still sending shows no answer, only a broken connection."""
    left, more = READ_AWAY_BYTES_MOST, True
    while more and left > 0:
        message = await receive()
        left -= len(message.get("body", b""))
        more = message["type"] == "http.request" and message.get("more_body", False)


def _too_large(request: Request) -> Response:
    """What to do about it, with the way back to the form that it came from."""
    megabytes = BODY_BYTES_MOST // 1_000_000
    if wants_json(request):
        return JSONResponse({"message": f"This is larger than {megabytes} MB."}, status_code=413)
    back = local_path(urlsplit(request.headers.get("referer", "")).path or "/")
    return page(request, "errors/413.html", status=413, megabytes=megabytes, back=back)


class Headers:
    """Adds the headers, and refuses a body that is larger than anything we ask for."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        path = scope["path"]

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                on_sheet = path.startswith("/visits/") or path == "/on-this-tablet"
                headers["Content-Security-Policy"] = SHEET_POLICY if on_sheet else POLICY
                headers["X-Content-Type-Options"] = "nosniff"
                # A form sent from a page without referrer comes with no origin, and is refused as foreign.
                secret = path.startswith("/s/") and not path.endswith(SHARED_FORMS)
                headers["Referrer-Policy"] = "no-referrer" if secret else "same-origin"
                headers["Cross-Origin-Opener-Policy"] = "same-origin"
                headers["Cross-Origin-Resource-Policy"] = "same-origin"
                headers["Permissions-Policy"] = "camera=(self), microphone=(), geolocation=(), payment=()"
                if scope["scheme"] == "https" and not _is_local(scope["headers"]):
                    headers["Strict-Transport-Security"] = "max-age=31536000; includeSubDomains"
                if path.startswith("/s/"):
                    headers["X-Robots-Tag"] = "noindex, nofollow"
                if path.startswith("/static/"):
                    marked = b"v=" in scope["query_string"]
                    # The style sheet names the fonts, which hardly ever change, without a mark of their content.
                    plain = "public, max-age=604800" if path.startswith("/static/fonts/") else "no-cache"
                    headers["Cache-Control"] = "public, max-age=31536000, immutable" if marked else plain
                else:
                    headers.setdefault("Cache-Control", "no-store")
            await send(message)

        length = dict(scope["headers"]).get(b"content-length", b"0")
        if length.isdigit() and int(length) > BODY_BYTES_MOST:
            await _read_away(receive)
            await _too_large(Request(scope))(scope, receive, send_with_headers)
            return
        await self.app(scope, receive, send_with_headers)
