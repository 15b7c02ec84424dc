"""Releases on both back ends."""

from tests.support import back_ends, demo_server

back_end = back_ends.on_both()
server = demo_server.on_both()
