"""What leaves as a file: the audit enters it, and who watches over the server is told."""

from __future__ import annotations

from flask import Response, request

TAKEN_AWAY = (
    "text/csv",
    "text/calendar",
    "application/zip",
    "application/pdf",
    "application/octet-stream",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
)


def leaves(answer: Response) -> bool:
    """Whether an answer is taken away as a file."""
    return request.method in ("GET", "HEAD") and answer.mimetype in TAKEN_AWAY
