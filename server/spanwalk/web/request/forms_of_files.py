"""One thing to take away in several forms: one address, its form at its end."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

from flask import Response

from spanwalk.web.files.files import XLSX, downloaded

PDF, CSV = "application/pdf", "text/csv"
MEDIA = {"pdf": PDF, "xlsx": XLSX, "csv": CSV}
Told = TypeVar("Told")


def in_form(told: Told, forms: Mapping[str, Callable[[Told], bytes]], form: str, name: str) -> Response:
    """What is told, made in the form that was asked for, as a file of a name."""
    return downloaded(forms[form](told), MEDIA[form], f"spanwalk-{name}.{form}")


__all__ = ["CSV", "MEDIA", "PDF", "in_form"]
