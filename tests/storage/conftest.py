"""Both back ends for what is in this folder, unless a test says which."""

from tests.support.back_ends import on_both

back_end = on_both()
