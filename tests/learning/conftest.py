"""An installation of its own for the tests through the server, on both back ends."""

from __future__ import annotations

from tests.support.back_ends import on_both

back_end = on_both()
