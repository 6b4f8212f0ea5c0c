"""Guards against other pages in the same browser (Host, Origin, headers).

* The Host header must name this machine (`TRUSTED_HOSTS`), or the request ends with 400 before any
  view: a name that an outsider points at 127.0.0.1 (DNS rebinding) reads nothing.
* A write from another origin ends with 403: judged by Sec-Fetch-Site, else by Origin with its port.
  The session cookie's SameSite is not enough, since another port on this machine is the same site.
* Forms carry a token on top (Flask-WTF), for clients that send neither header.
* Every answer has a strict content security policy without inline code, and asks the browser for
  the microphone at most.

Sources: Fetch Metadata Request Headers (W3C), RFC 6454 (origin), CSP level 3 (W3C),
Permissions Policy (W3C).
"""

from urllib.parse import urlsplit

from flask import Flask, Request, Response, abort, request

TRUSTED_HOSTS = ["127.0.0.1", "localhost"]
SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
CONTENT_SECURITY_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
# Pages may hear the player and keep the screen awake at the stand, and nothing of the rest.
PERMISSIONS_POLICY = ", ".join(
    (
        "microphone=(self)",
        "screen-wake-lock=(self)",
        *(
            f"{feature}=()"
            for feature in (
                "camera", "display-capture", "geolocation", "hid", "midi",
                "payment", "serial", "usb",
            )
        ),
    )
)  # fmt: skip
HEADERS = {
    "Content-Security-Policy": CONTENT_SECURITY_POLICY,
    "Permissions-Policy": PERMISSIONS_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def guard(app: Flask) -> None:
    """Put the rules above in force for every route of `app`."""
    app.config["TRUSTED_HOSTS"] = TRUSTED_HOSTS
    app.before_request(_refuse_foreign_writes)
    app.after_request(_add_headers)


def _refuse_foreign_writes() -> None:
    if request.method not in SAFE_METHODS and is_foreign(request):
        abort(403)


def is_foreign(incoming: Request) -> bool:
    """Tell whether a request was caused by a page of another origin."""
    site = incoming.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site not in ("same-origin", "none")
    origin = incoming.headers.get("Origin")
    if origin is None:
        return False
    try:
        return urlsplit(origin)[:2] != urlsplit(incoming.host_url)[:2]
    except ValueError:  # not an address at all
        return True


def _add_headers(response: Response) -> Response:
    for name, value in HEADERS.items():
        response.headers[name] = value
    if not response.cache_control.max_age:
        response.cache_control.no_cache = True
    return response
