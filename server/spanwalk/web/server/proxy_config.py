"""The configuration of an nginx in front: TLS, limits before a body is read, and who asks told to the server alone.

One file for `/etc/nginx/conf.d/`, made from the same limits as the server's own (`web/request/limits`). `tests/front` runs it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from http import HTTPStatus

from spanwalk.web.request.limits import HEAVY, OPEN_BYTES_MOST, USUAL, Heavy
from spanwalk.web.server.connections import HEAD_S
from spanwalk.words import say

STREAMED_FROM_BYTES = 10_000_000
"""Longer bodies go on as they come: the server sees by their head who sends them, and reads none of a stranger's."""
CONNECTIONS_OF_AN_ADDRESS = 130
"""Each request of a browser over HTTP/2 counts as one: it asks for a page's files all at once."""
SIGN_INS_A_SECOND, SIGN_INS_AT_ONCE = 2, 20
PROOFS = (
    "/api/session",
    "/api/session/(entered|password)",
    "/api/links/(open|accept|take)",
    "/api/enrolments/(open|accept)",
    "/api/me/enrolments",
    "/api/me/factors(/[^/]+)?",
    "/api/sites/[0-9a-fA-F-]+/(resets|invites)",
    "/api/(resets|invites|people)",
)
"""Where a password, a second factor, a recovery code or the secret of a link is shown or made. Only what changes something
is counted: that a page asks who is signed in, at the start of each of fifty phones behind one address, is not."""
OPEN_A_SECOND, OPEN_AT_ONCE = 10, 60
OPEN = ("/api/labels/[^/]+", "/api/phone", "/api/session/if-any", "/api/demo")
"""What anyone may look up without signing in: a label by whoever scans it, what a phone is shut out of,
whether anybody is signed in on a phone that knows of nobody."""
REFUSALS = {
    413: ("proxy-413", None),
    429: ("proxy-429", 5),
    502: ("proxy-502", 5),
    503: ("proxy-503", 5),
    504: ("proxy-504", 10),
}
"""What nginx answers by itself: status, sentence, seconds after which to ask again."""


@dataclass(frozen=True)
class Front:
    """What is different at each place.

    Parameters
    ----------
    name : str
        The host that people type.
    certificate, key : str
        Files of its certificate chain and key.
    server : str
        Where the server listens, ``127.0.0.1:8000``.
    https, http : str
        Where nginx listens: a port, or an address and a port. `http` only leads to https.
    """

    name: str
    certificate: str
    key: str
    server: str = "127.0.0.1:8000"
    https: str = "443"
    http: str = "80"


def proxy_config(front: Front) -> str:
    """The text of the file."""
    locations = [_location("/", USUAL)]
    slowed = f"limit_req zone=spanwalk_sign_in burst={SIGN_INS_AT_ONCE} nodelay;"
    looked_up = f"limit_req zone=spanwalk_open burst={OPEN_AT_ONCE} nodelay;"
    locations += [_location(f'~ "^{path}$"', None, slowed) for path in PROOFS]
    locations += [_location(f'~ "^{path}$"', None, looked_up) for path in OPEN]
    locations += [_location(f'~ "^{each.path}$"', each) for each in HEAVY]
    return TEMPLATE.format(
        front=front,
        head_s=HEAD_S,
        usual=USUAL.bytes_most,
        connections=CONNECTIONS_OF_AN_ADDRESS,
        rate=SIGN_INS_A_SECOND,
        open_rate=OPEN_A_SECOND,
        locations=_indented("\n".join(locations)),
        refusals=_indented("\n".join(_refusal(status) for status in REFUSALS)),
    )


def _location(where: str, heavy: Heavy | None, *more: str) -> str:
    lines = list(more)
    most = OPEN_BYTES_MOST if heavy is None else heavy.bytes_most
    if most != USUAL.bytes_most:
        lines.append(f"client_max_body_size {most};")
    if most > STREAMED_FROM_BYTES:
        lines.append("proxy_request_buffering off;")
    return "\n".join(
        [f"location {where} {{", *(f"    {line}" for line in [*lines, "proxy_pass http://spanwalk;"]), "}"]
    )


def _refusal(status: int) -> str:
    """A place that answers as the server does: problem details (RFC 9457)."""
    code, wait_s = REFUSALS[status]
    title = HTTPStatus(status).phrase
    told = {"type": f"urn:spanwalk:problem:{code}", "title": title, "status": status, "detail": say(code), "code": code}
    wait = [f"    add_header Retry-After {wait_s} always;"] if wait_s else []
    return "\n".join(
        [
            f"error_page {status} @refused_{status};",
            f"location @refused_{status} {{",
            "    default_type application/problem+json;",
            "    add_header Cache-Control no-store always;",
            "    add_header X-Content-Type-Options nosniff always;",
            *wait,
            f"    return {status} '{json.dumps(told)}';",
            "}",
        ]
    )


def _indented(text: str) -> str:
    return "\n".join(f"    {line}" for line in text.splitlines())


TEMPLATE = """\
# Spanwalk behind nginx, made by 'spanwalk proxy-config'. Save it as /etc/nginx/conf.d/spanwalk.conf, try it with
# 'nginx -t', and start the server with SPANWALK_TRUSTED_PROXY=127.0.0.1, on an address that only nginx reaches.

limit_conn_zone $binary_remote_addr zone=spanwalk_address:4m;
map $request_method $spanwalk_proving {{
    default $binary_remote_addr;
    GET "";
    HEAD "";
}}
limit_req_zone $spanwalk_proving zone=spanwalk_sign_in:4m rate={rate}r/s;
limit_req_zone $binary_remote_addr zone=spanwalk_open:4m rate={open_rate}r/s;
limit_conn_status 503;
limit_req_status 429;

upstream spanwalk {{
    server {front.server};
    keepalive 16;
}}

server {{
    listen {front.http};
    server_name {front.name};
    server_tokens off;
    client_header_timeout {head_s}s;
    location /.well-known/acme-challenge/ {{
        root /var/www/html;
    }}
    location / {{
        return 301 https://{front.name}$request_uri;
    }}
}}

server {{
    listen {front.https} ssl http2;
    server_name {front.name};
    server_tokens off;

    ssl_certificate {front.certificate};
    ssl_certificate_key {front.key};
    ssl_protocols TLSv1.2 TLSv1.3;
    ssl_session_cache shared:spanwalk_tls:2m;
    ssl_session_tickets off;

    client_header_timeout {head_s}s;
    client_body_timeout 30s;
    send_timeout 60s;
    reset_timedout_connection on;
    client_max_body_size {usual};
    limit_conn spanwalk_address {connections};

    gzip on;
    gzip_proxied any;
    gzip_min_length 1000;
    gzip_types application/json application/problem+json application/wasm text/javascript text/css image/svg+xml;

    # What is said of whom we ask for is set here, never added to: a client cannot say it of itself.
    proxy_http_version 1.1;
    proxy_set_header Connection "";
    proxy_set_header Host $http_host;
    proxy_set_header X-Forwarded-For $remote_addr;
    proxy_set_header X-Forwarded-Proto $scheme;
    proxy_set_header X-Forwarded-Host "";
    proxy_set_header X-Forwarded-Port "";
    proxy_set_header X-Forwarded-By "";
    proxy_set_header Forwarded "";
    proxy_set_header X-Request-ID $request_id;
    proxy_connect_timeout 5s;
    proxy_read_timeout 120s;
    proxy_send_timeout 60s;

{locations}

{refusals}
}}
"""
