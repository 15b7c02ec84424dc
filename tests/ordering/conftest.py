"""The demo building on a real server, for orders."""

from tests.support import back_ends, demo_server

back_end = back_ends.on_both()
server = demo_server.on_both()
