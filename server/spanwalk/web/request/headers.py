"""The headers that keep a page to itself."""

from __future__ import annotations

from flask import Flask, Response, request

from spanwalk.web.pages import Pages

HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Permissions-Policy": "camera=(self), microphone=(self), geolocation=(), payment=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
HSTS = "max-age=31536000"


def content_security_policy(import_map_hash: str) -> str:
    """What the page may load: its own files, and the one inline script that is the import map."""
    return (
        f"default-src 'self'; script-src 'self' 'wasm-unsafe-eval' '{import_map_hash}'; style-src 'self'; "
        "img-src 'self' blob: data:; media-src 'self' blob:; worker-src 'self'; connect-src 'self'; "
        "object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
    )


def register(app: Flask, pages: Pages) -> None:
    """Put the headers on every answer of this app."""

    def after(answer: Response) -> Response:
        for name, value in HEADERS.items():
            answer.headers.setdefault(name, value)
        answer.headers.setdefault("Content-Security-Policy", content_security_policy(pages.import_map_hash))
        if request.is_secure:
            answer.headers.setdefault("Strict-Transport-Security", HSTS)
        if request.path.startswith("/api/"):
            answer.headers.setdefault("Cache-Control", "no-store")
        return answer

    app.after_request(after)
