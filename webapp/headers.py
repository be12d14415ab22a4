"""Response headers: nothing inline, nothing from elsewhere, nothing personal in a cache."""

from __future__ import annotations

from flask import Flask, Response, request

CSP = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "object-src 'none'",
        "require-trusted-types-for 'script'",
        "trusted-types drumside-worker",
    )
)


def add_headers(response: Response) -> Response:
    """Every response's headers; static files under the build's path may be kept for ever."""
    headers = response.headers
    headers["Content-Security-Policy"] = CSP
    headers["X-Content-Type-Options"] = "nosniff"
    # Not no-referrer: the form protection wants a Referer of the same origin over HTTPS.
    headers["Referrer-Policy"] = "same-origin"
    headers["Cross-Origin-Opener-Policy"] = "same-origin"
    headers["Cross-Origin-Resource-Policy"] = "same-origin"
    headers["Permissions-Policy"] = "camera=(), geolocation=(), microphone=(), screen-wake-lock=(self)"
    if request.endpoint == "static" and response.status_code < 400:
        headers["Cache-Control"] = "public, max-age=31536000, immutable"
    elif "Cache-Control" not in headers:
        headers["Cache-Control"] = "no-store"
    return response


def init_app(app: Flask) -> None:
    """Attach to the app."""
    app.after_request(add_headers)
