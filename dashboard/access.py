"""Who may ask the explorer: this machine, or whoever knows the token; and what an answer may make a browser do."""

from __future__ import annotations

import hmac
import ipaddress
import re
import secrets
from collections.abc import Sequence
from hashlib import sha256
from html import escape
from urllib.parse import quote, urlencode, urlsplit

from flask import Flask, Response, request

from materials.errors import InputError
from optimiser.handover.drawing.sheet import palette

LARGEST_REQUEST = 32_000_000  # bytes: the largest file that is taken, in the letters it is sent in, and some room
LEAST_LETTERS = 16  # of a token of one's own
LEAST_DISTINCT = 8
TOKEN = re.compile(r"[A-Za-z0-9._~-]{1,200}")
THIS_MACHINE = ("localhost", "127.0.0.1", "::1")
ALIVE = "/alive"


def own_token(token: str) -> str:
    """A token of one's own, as it is; InputError when it is short, repeats itself or needs escapes in an address."""
    expected = f"expected at least {LEAST_LETTERS} of A-Z, a-z, 0-9 and . _ ~ -, at least {LEAST_DISTINCT} different"
    if not TOKEN.fullmatch(token):
        raise InputError(f"--token: holds what an address cannot carry, or nothing, or too much; {expected}")
    if len(token) < LEAST_LETTERS:
        raise InputError(f"--token: {len(token)} characters can be guessed; {expected}")
    if len(set(token)) < LEAST_DISTINCT:
        raise InputError(f"--token: only {len(set(token))} different characters can be guessed; {expected}")
    return token


def token_for(host: str, token: str | None = None) -> str | None:
    """The token to ask for: one's own, a random one where others can reach the host, none on this machine alone."""
    if token is not None:
        return own_token(token)
    return None if is_this_machine(host) else secrets.token_urlsafe(32)


def is_this_machine(host: str) -> bool:
    """Whether a host name or address can only be reached from the machine itself."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def host_of(header: str | None) -> str:
    """The host in a Host header, without the port; '' for a header that is none."""
    try:
        return (urlsplit(f"//{header or ''}").hostname or "").lower()
    except ValueError:
        return ""


def policy(scripts: Sequence[str] = ()) -> str:
    """The content-security policy; `scripts`: hashes of the only inline scripts that may run.

    Styles may stand inline: the plot and the table write them. Nothing may come from, or go to, another machine.
    """
    rules = {
        "default-src": "'none'",
        "script-src": " ".join(["'self'", *scripts]),
        "style-src": "'self' 'unsafe-inline'",
        "img-src": "'self' data: blob:",
        "font-src": "'self' data:",
        "connect-src": "'self'",
        "worker-src": "'none'",
        "object-src": "'none'",
        "frame-ancestors": "'none'",
        "form-action": "'self'",
        "base-uri": "'none'",
    }
    return "; ".join(f"{name} {value}" for name, value in rules.items())


HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
}


def guard(server: Flask, token: str | None, rules: str) -> None:
    """Let nothing through but what may ask, and send every answer with its headers.

    token: None on this machine alone, where the Host header must name it: a foreign page whose name was pointed here
    is refused. With a token, the address brings it once and a cookie from then on.
    """
    server.config["MAX_CONTENT_LENGTH"] = LARGEST_REQUEST
    server.config["MAX_FORM_MEMORY_SIZE"] = LARGEST_REQUEST

    @server.before_request
    def may_ask() -> Response | None:
        if _from_another_site():
            return _refused(403, "Not from here", "Another page asked for this. Open the explorer itself.")
        if token is None:
            if host_of(request.headers.get("Host")) in THIS_MACHINE:
                return None
            words = "This explorer answers on this machine only, at the address that the command printed."
            return _refused(403, "Not under this name", words)
        return _with_token(token)

    @server.route(ALIVE)
    def alive() -> Response:
        return Response(status=204, headers={"Cache-Control": "no-store"})

    @server.errorhandler(413)
    def too_large(_: Exception) -> Response:
        words = f"This is more than {LARGEST_REQUEST // 1_000_000} MB, and is not taken."
        return _refused(413, "Too large", words)

    @server.after_request
    def keep_to_this_machine(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = rules
        response.headers.update(HEADERS)
        return response


def _from_another_site() -> bool:
    """Whether a page of another origin sends something that changes things."""
    origin = request.headers.get("Origin")
    if request.method in ("GET", "HEAD", "OPTIONS") or origin is None:
        return False
    return urlsplit(origin).netloc.lower() != (request.headers.get("Host") or "").lower()


def _with_token(token: str) -> Response | None:
    """None for who knows the token; else the answer. An address that brings it is opened again without it."""
    name, pass_ = f"wallfront-{request.environ.get('SERVER_PORT', '')}", _pass(token)
    given = request.args.get("token")
    if given is not None and request.method == "GET":
        if not _same(given, token):
            return _unknown()
        answer = _again("Opening the explorer", request.args)
        answer.set_cookie(name, pass_, httponly=True, samesite="Strict", path="/")
        return answer
    if _same(request.cookies.get(name, ""), pass_):
        return None
    if request.method == "GET" and request.headers.get("Sec-Fetch-Site") == "cross-site":
        # A link in a message: the browser keeps the cookie back until the page itself asks.
        return _again("Opening the explorer", request.args, 401)
    return _unknown()


def _pass(token: str) -> str:
    """What the cookie holds: made of the token, not the token."""
    return hmac.new(token.encode(), b"wallfront cookie", sha256).hexdigest()


def _same(given: str, known: str) -> bool:
    """Compared in the same time wherever they differ."""
    return hmac.compare_digest(given.encode("utf-8", "replace"), known.encode())


def _unknown() -> Response:
    words = (
        "This explorer is behind a token. Open it once with the whole address that the command printed, "
        "the part after “token=” included; this browser is then known until it is closed."
    )
    return _refused(401, "The token is missing", words)


def _again(title: str, query, status: int = 200) -> Response:
    """A page that opens the same place, by its own hand and without the token."""
    remaining = [(name, value) for name, value in query.items(multi=True) if name != "token"]
    query_left = f"?{urlencode(remaining)}" if remaining else ""
    place = "/" + quote(request.path.lstrip("/")) + query_left  # never another machine's
    refresh = f'<meta http-equiv="refresh" content="0; url={escape(place)}">'
    body = f'<h1>{title}</h1><p><a href="{escape(place)}">Go on</a></p>'
    return _plain(status, title, body, refresh)


def _refused(status: int, title: str, words: str) -> Response:
    return _plain(status, title, f"<h1>{escape(title)}</h1><p>{escape(words)}</p>")


def _plain(status: int, title: str, body: str, head: str = "") -> Response:
    light, dark = (palette.custom_properties(each) for each in (palette.LIGHT, palette.DARK))
    style = (
        f":root{{color-scheme:light dark;{light}}}@media (prefers-color-scheme:dark){{:root{{{dark}}}}}"
        "body{margin:18vh auto;max-width:46ch;padding:0 24px;background:var(--paper);color:var(--ink);"
        "font:15px/1.55 -apple-system,'Segoe UI','Helvetica Neue',Arial,'Liberation Sans',sans-serif}"
        "h1{font-size:21px;margin:0 0 8px}p{margin:0}a{color:var(--accent)}"
    )
    text = (
        f'<!DOCTYPE html><html lang="en"><head><meta charset="utf-8">{head}<title>{escape(title)} · wallfront</title>'
        f'<meta name="viewport" content="width=device-width"><style>{style}</style></head>'
        f"<body><main>{body}</main></body></html>"
    )
    return Response(text, status=status, mimetype="text/html", headers={"Cache-Control": "no-store"})
